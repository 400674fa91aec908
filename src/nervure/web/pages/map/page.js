// The map: the leaf that is pointed at and cut, findings, likely sites; then the tables below.
import { Leaf } from "./leaf.js";
import { openRegister } from "./register.js";

const $ = (id) => document.getElementById(id);
const hear = (text) => { if (text) $("heard").textContent = text; };
const map = $("map");
const base = map.dataset.base;
const chosen = new URLSearchParams(location.search);

/** Ask the workbench; the variants in force are told each time. */
async function ask(what, lists = {}) {
  const query = new URLSearchParams(chosen);
  for (const [name, values] of Object.entries(lists)) for (const value of values) query.append(name, value);
  const answer = await fetch(`${base}/${what}?${query}`, { headers: { accept: "application/json" } });
  const data = await answer.json();
  if (!answer.ok) throw new Error(data.message);
  return data;
}

const cuts = [];
const findings = new Map();
let asked = 0;

function problem(error) { hear(error.message || map.dataset.sayFailed); }

async function showCuts() {
  const number = ++asked;
  const data = await ask("cut", { site: cuts, via: $("via").value ? [$("via").value] : [] });
  if (number !== asked) return;
  $("cuts").innerHTML = data.html;
  leaf.showCut(data);
  for (const line of $("cuts").querySelectorAll("[data-site]")) addLevels(line);
  hear(data.heard);
}

/** Give a cut of a structure with several levels the choice among them. */
function addLevels(line) {
  const site = line.dataset.site;
  const [id, level] = site.split("@");
  const levels = leaf.structure(id)?.levels ?? [];
  if (levels.length < 2) return;
  const select = document.createElement("select");
  select.className = "choice";
  select.setAttribute("aria-label", map.dataset.sayLevelsOf.replace("#", leaf.structure(id).name));
  for (const one of levels) {
    const spared = one.before.length ? map.dataset.saySpares.replace("#", one.before.join(", ")) : map.dataset.sayEverything;
    const option = new Option(`${map.dataset.sayLevel.replace("#", one.level)}: ${spared}`, one.level);
    option.selected = String(one.level) === (level ?? "1");
    select.append(option);
  }
  select.addEventListener("change", () => setLevel(id, Number(select.value)));
  line.querySelector(".levels").append(select);
}

const cutOf = (id) => cuts.findIndex((site) => site.split("@")[0] === id);
const siteOf = (id, level) => (level > 1 ? `${id}@${level}` : id);

function setLevel(id, level) {
  const place = cutOf(id);
  if (place < 0) return;
  cuts[place] = siteOf(id, level);
  showCuts().catch(problem);
}

function toggleCut(id) {
  const place = cutOf(id);
  if (place < 0) cuts.push(id); else cuts.splice(place, 1);
  showCuts().catch(problem);
}

function stepLevel(id, step) {
  const place = cutOf(id);
  if (place < 0) return;
  const levels = leaf.structure(id).levels.map((one) => one.level);
  const now = Number(cuts[place].split("@")[1] ?? 1);
  const next = levels[Math.min(levels.length - 1, Math.max(0, levels.indexOf(now) + step))];
  if (next !== now) setLevel(id, next);
}

function addSite(site) {
  if (!site || cuts.includes(site)) return;
  cuts.push(site);
  showCuts().catch(problem);
}

async function showSites() {
  const of = (finding) => [...findings].filter(([, found]) => found === finding).map(([id]) => id);
  leaf.showFindings(findings);
  if (!findings.size) { $("sites").replaceChildren($("sites-hint").content.cloneNode(true)); return ""; }
  const number = ++asked;
  const data = await ask("localize", { affected: of("affected"), spared: of("spared") });
  if (number === asked) $("sites").innerHTML = data.html;
  return data.heard;
}

function tell(id, finding) {
  if (findings.get(id) === finding || !finding) findings.delete(id); else findings.set(id, finding);
  const said = `${leaf.target(id).name}: ${findings.has(id) ? leaf.wordFor(findings.get(id)) : map.dataset.sayNone}.`;
  hear(said);
  showSites().then((heard) => hear(`${said} ${heard}`)).catch(problem);
}

const hint = document.createElement("template");
hint.id = "sites-hint";
hint.innerHTML = $("sites").innerHTML;
document.body.append(hint);

const leaf = new Leaf(map, $("leafbox").querySelector("svg"), { toggleCut, stepLevel, tell, hear });
ask("facts").then((facts) => { leaf.take(facts); map.dataset.ready = "true"; }).catch(problem);

for (const [id, step] of [["closer", 1.25], ["farther", 0.8], ["whole", 0]]) $(id).addEventListener("click", () => leaf.zoom(step));
$("print").addEventListener("click", () => window.print());
$("figures").addEventListener("click", () => {
  const on = $("figures").getAttribute("aria-pressed") !== "true";
  $("figures").setAttribute("aria-pressed", on);
  leaf.showFigures(on);
});
for (const id of ["lesion", "link"]) $(id)?.addEventListener("change", (event) => { addSite(event.target.value); event.target.value = ""; });
$("via").addEventListener("change", () => showCuts().catch(problem));
for (const button of document.querySelectorAll("[data-tell]")) button.addEventListener("click", () => tell($("finding-target").value, button.dataset.tell));
$("cuts").addEventListener("click", (event) => {
  const site = event.target.closest("[data-undo]")?.dataset.undo;
  if (!site) return;
  if (site === "*") cuts.length = 0; else cuts.splice(cuts.indexOf(site), 1);
  showCuts().catch(problem);
});
$("sites").addEventListener("click", (event) => {
  const site = event.target.closest("[data-cut]")?.dataset.cut;
  if (site) { cuts.splice(0, cuts.length, site); showCuts().catch(problem); }
  else if (event.target.closest("[data-clear]")) { findings.clear(); showSites().catch(problem); }
});
for (const box of document.querySelectorAll("#variants input[type=checkbox]")) box.addEventListener("change", () => box.form.submit());

const register = $("register");
if (register) openRegister(register, hear);
