// The rules: what a change does is shown while it is made; saving swaps in the page as it then is.
import { openDeck } from "./deck.js";

const ASK_AFTER = 300, ASK_AGAIN = 800; // milliseconds
const $ = (id) => document.getElementById(id);
const rules = $("rules");
const hear = (text) => { if (text) $("heard").textContent = text; };
const form = () => $("form");
rules?.classList.add("scripted"); // a page that only offers to begin has no sentences

let asked = 0, looked = 0, waits, changes = 0, deck;

// Choices that depend on others

function sizes() {
  const low = Number(form().elements["players.low"].value) || 1, high = Number(form().elements["players.high"].value) || 6;
  for (const one of form().querySelectorAll("[data-size]")) {
    const size = Number(one.dataset.size), isSeat = one.classList.contains("seat");
    one.classList.toggle("beyond", isSeat ? size > high : size < low || size > high);
  }
  for (const box of form().querySelectorAll("input[name$='.by']")) {
    const rule = box.closest(".rule"), name = box.name.slice(0, -3);
    rule.classList.toggle("is-by", box.checked);
    for (const field of rule.querySelectorAll(`[name="${name}"], .ticks [name^="${name}."]`)) if (!field.closest("[data-size]")) field.disabled = box.checked;
  }
  const all = form().querySelectorAll(".ofkind input:checked").length, told = $("single-count");
  if (told) told.textContent = told.textContent.replace(/\d+/, all);
}

/** Offer those operations only that the kind of bonus may have, and the fields that they need. */
function bonus(box) {
  const shapes = JSON.parse($("bonuses").dataset.effects), when = box.querySelector(".when").value, allowed = shapes[when] ?? {};
  for (const step of box.querySelectorAll(".step")) {
    const op = step.querySelector(".op");
    for (const option of op.options) option.hidden = option.disabled = option.value !== "" && !option.selected && !(option.value in allowed);
    for (const name of Object.keys(allowed)) if (![...op.options].some((option) => option.value === name)) op.add(new Option(opName(name), name));
    const shape = (allowed[op.value] ?? [""])[0];
    step.querySelector(".amount").hidden = !shape.includes("N") && !step.querySelector(".amount").value;
    step.querySelector(".kind").hidden = !shape.includes("KIND") && !step.querySelector(".kind").value;
    if (op.value && op.value in allowed) {
      step.querySelector(".amount").hidden = !shape.includes("N");
      step.querySelector(".kind").hidden = !shape.includes("KIND");
    }
  }
  const steps = box.querySelectorAll(".step"), last = steps[steps.length - 1];
  if (last.querySelector(".op").value && steps.length < Number($("bonuses").dataset.most)) further(box, last, steps.length);
}

const opName = (name) => JSON.parse($("bonuses").dataset.names)[name] ?? name;

function further(box, last, place) {
  const step = last.cloneNode(true), home = `bonus.${box.dataset.number}.does.${place}`;
  step.dataset.place = place;
  step.querySelector(".then")?.remove();
  const then = document.createElement("span");
  then.className = "then";
  then.textContent = $("bonuses").dataset.then;
  step.prepend(then, " ");
  for (const [part, end] of [[".op", ""], [".amount", ".amount"], [".kind", ".kind"]]) { const field = step.querySelector(part); field.name = home + end; field.value = ""; }
  step.querySelector(".op").setAttribute("aria-label", $("bonuses").dataset.step.replace("#", place + 1));
  last.after(" ", step);
  bonus(box);
}

function addBonus() {
  const boxes = [...form().querySelectorAll(".bonus")], hidden = boxes.find((box) => box.hidden);
  let box = hidden;
  if (box) box.hidden = false;
  else {
    const model = boxes[boxes.length - 1], number = Math.max(...boxes.map((one) => Number(one.dataset.number))) + 1;
    box = model.cloneNode(true);
    for (const step of [...box.querySelectorAll(".step")].slice(1)) step.remove();
    for (const field of box.querySelectorAll("[name]")) { field.name = field.name.replace(/^bonus\.\d+/, `bonus.${number}`); if (!field.matches(".when")) field.value = ""; }
    box.dataset.number = number;
    box.querySelector("[data-derived]").textContent = "";
    box.querySelector("[data-derived]").dataset.derived = number;
    box.querySelector("[data-why]").textContent = "";
    box.querySelector("[data-why]").dataset.why = number;
    model.after(box);
  }
  bonus(box);
  box.querySelector("[name$='.id']").focus();
}

function settle() {
  sizes();
  for (const box of form().querySelectorAll(".bonus")) {
    bonus(box);
    box.hidden = Boolean(box.dataset.new) && ![...box.querySelectorAll("input:not([type=hidden]), textarea, .op")].some((field) => field.value);
  }
  $("add-bonus").hidden = false;
}

// What the edit does

function soon() { clearTimeout(waits); waits = setTimeout(weigh, ASK_AFTER); }

async function post(address, body) {
  const answer = await fetch(address, { method: "POST", body, headers: { accept: "application/json" } });
  return { ok: answer.ok, data: await answer.json() };
}

async function weigh() {
  const number = ++asked, body = new URLSearchParams(new FormData(form()));
  if (deck) body.set("deck", JSON.stringify(deck.pending()));
  $("effects").classList.add("working");
  let told;
  try { told = await post(`${rules.dataset.base}/weigh`, body); } catch { told = { ok: false, data: { message: rules.dataset.sayFailed } }; }
  if (number !== asked) return;
  if (!told.ok) { $("brief").textContent = told.data.message ?? rules.dataset.sayFailed; hear($("brief").textContent); return; }
  show(told.data);
  if (told.data.working) waits = setTimeout(weigh, ASK_AGAIN);
  else hear([...Object.values(told.data.why).slice(0, 1), told.data.brief].join(" "));
}

function show(data) {
  changes = data.changes;
  $("brief").textContent = data.brief;
  $("back").hidden = !changes;
  if (!data.working) { $("effects").innerHTML = data.html; $("effects").classList.remove("working"); }
  for (const rule of form().querySelectorAll(".rule[data-key]")) {
    const key = rule.dataset.key, why = data.why[key] ?? "";
    rule.classList.toggle("changed", key in data.notes);
    rule.querySelector(".note").textContent = data.notes[key] ?? "";
    if (!data.working || why) rule.querySelector(".why").textContent = why;
    for (const field of rule.querySelectorAll(".count, .choice")) if (why) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
  }
  for (const box of form().querySelectorAll(".bonus")) {
    const number = box.dataset.number;
    box.classList.toggle("changed", Boolean(data.bonusChanged[number]));
    if (data.working) continue;
    box.querySelector("[data-why]").textContent = data.bonusWhy[number] ?? "";
    box.querySelector("[data-derived]").textContent = data.derived[number] ?? "";
  }
  if (!data.working) deck?.beside(data.beside);
}

// Saving: the answer is the page as it then is, and takes the place of this one

async function swap(address, options) {
  let page;
  try {
    const answer = await fetch(address, { headers: { accept: "text/html" }, ...options });
    page = new DOMParser().parseFromString(await answer.text(), "text/html");
  } catch { $("brief").textContent = rules.dataset.sayFailed; hear(rules.dataset.sayFailed); return; }
  if (!page.getElementById("form")) {
    const why = page.querySelector("main p")?.textContent ?? rules.dataset.sayFailed;
    $("brief").textContent = why;
    hear(why);
    return;
  }
  const here = document.activeElement?.closest("#sentences") ? document.activeElement : null;
  const at = here && { name: here.name, value: here.type === "checkbox" ? here.value : null };
  for (const id of ["top", "sentences", "effects"]) $(id).replaceWith(page.getElementById(id));
  document.querySelector("nav .steps")?.replaceWith(page.querySelector("nav .steps"));
  settle();
  looked = asked;
  changes = form().querySelectorAll(".changed").length;
  const told = $("told");
  if (told) { told.tabIndex = -1; told.focus(); hear(told.textContent); }
  else if (at?.name) [...form().elements].find((one) => one.name === at.name && (at.value === null || one.value === at.value))?.focus();
  if (deck && !deck.isChangedAtAll()) deck.load();
  if ($("effects").querySelector("[data-working]")) setTimeout(look, ASK_AGAIN);
}

/** Take the page anew once its figures are there, unless something was changed meanwhile. */
function look() { if (changes || asked > looked) soon(); else swap(rules.dataset.base); }

rules?.addEventListener("input", (event) => { if (event.target.closest("#form")) { settleOne(event.target); soon(); } });
function settleOne(field) {
  const box = field.closest(".bonus");
  if (box) bonus(box); else if (field.name === "tie_breaks") furtherTie(field); else sizes();
}

/** One more blank choice once the last one is made. */
function furtherTie(field) {
  const all = form().querySelectorAll("[name=tie_breaks]"), last = all[all.length - 1];
  if (field !== last || !field.value) return;
  const next = last.cloneNode(true);
  next.value = "";
  next.setAttribute("aria-label", last.getAttribute("aria-label").replace(/\d+/, all.length + 1));
  last.after(rules.dataset.sayThen, next);
}

document.addEventListener("submit", (event) => {
  if (!rules || !event.target.matches("#form, #undo, #draft, #begin")) return;
  event.preventDefault();
  const body = new URLSearchParams(new FormData(event.target, event.submitter));
  clearTimeout(waits);
  asked += 1;
  swap(event.submitter?.getAttribute("formaction") ?? event.target.getAttribute("action"), { method: "POST", body });
});
document.addEventListener("click", (event) => {
  if (event.target.closest("#back")) { event.preventDefault(); clearTimeout(waits); asked += 1; swap(`${rules.dataset.base}`); }
  if (event.target.closest("#add-bonus")) addBonus();
});
addEventListener("beforeunload", (event) => { if (changes) event.preventDefault(); });

if (rules) {
  settle();
  deck = $("register") ? openDeck($("register"), hear, soon) : undefined;
  if ($("effects").querySelector("[data-working]")) setTimeout(look, ASK_AGAIN);
  rules.dataset.ready = "true";
}
