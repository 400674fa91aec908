// The table: shows what the workbench sends, sends one move at a time. No rule is known here.
import { Live } from "./live.js";
import { Choice } from "./choice.js";
import { openWhy } from "./why.js";

const $ = (id) => document.getElementById(id);
const table = $("table");
const heard = $("heard");
let position = -1;
let waiting = false;
let told = false; // a refusal stays until the next view but one

const choice = new Choice(table, (move) => send(move));

/** Put the new page of the table in place; focus, open lists and the choice stay where they can. */
function show(html) {
  const focused = document.activeElement?.closest?.("[data-key]")?.dataset.key;
  const opened = [...table.querySelectorAll("details[open]")].map((one) => one.dataset.key);
  const within = table.contains(document.activeElement);
  table.innerHTML = html;
  for (const one of table.querySelectorAll("details")) if (opened.includes(one.dataset.key)) one.open = true;
  choice.again();
  if (!within) return;
  const keys = [...table.querySelectorAll("[data-key]")];
  const to = keys.find((one) => one.dataset.key === focused && !one.hidden) ?? table.querySelector(".hand [data-source], .actions .button, .cover .button, [data-source]");
  to?.focus({ preventScroll: true });
}

const live = new Live(table.dataset.live, {
  take(message) {
    waiting = false;
    table.removeAttribute("aria-busy");
    if (!told) $("lost").hidden = true;
    told = false;
    if (message.refused) { heard.textContent = message.refused; $("lost").textContent = message.refused; $("lost").hidden = false; told = true; return; }
    position = message.position;
    show(message.html);
    table.dataset.position = position;
    document.title = message.title;
    if (message.heard) heard.textContent = message.heard;
  },
  lost() { waiting = false; told = false; $("lost").textContent = table.dataset.sayLost; $("lost").hidden = false; },
  gone() { $("lost").textContent = table.dataset.sayGone; $("lost").hidden = false; },
});

function send(move) {
  if (waiting) return;
  waiting = live.send({ position, move });
  if (waiting) table.setAttribute("aria-busy", "true");
}

table.addEventListener("click", (event) => {
  const why = event.target.closest("button[data-why]");
  if (why) { openWhy(table.dataset.leaf, `${table.dataset.why}/${why.dataset.why}`, why).catch(() => { heard.textContent = table.dataset.sayAgain; }); return; }
  const button = event.target.closest("[data-move]");
  if (button) send(JSON.parse(button.dataset.move));
});
