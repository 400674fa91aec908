// The leaf as a thing to point at: lights pathways fibre by fibre, shows cuts and findings.
const SVG = "http://www.w3.org/2000/svg";
const STEP = 160; // milliseconds from one fibre to the next
const calm = matchMedia("(prefers-reduced-motion: reduce)");

function text(tag, content, className) {
  const node = document.createElement(tag);
  node.textContent = content;
  if (className) node.className = className;
  return node;
}

export class Leaf {
  constructor(frame, svg, acts) {
    Object.assign(this, { frame, svg, acts, say: frame.dataset, box: svg.parentElement });
    this.lanes = new Map([...svg.querySelectorAll("[data-lane]")].map((lane) => [lane.dataset.lane, lane]));
    this.parts = new Map([...svg.querySelectorAll(".s")].map((part) => [part.dataset.id, part]));
    this.rows = new Map([...svg.querySelectorAll(".target")].map((row) => [row.dataset.id, row]));
    this.cut = { lost: new Set(), losses: {}, sites: [] };
    this.scale = 1;
    this.timers = [];
  }

  /** Take what the workbench tells once, and begin to answer. */
  take(facts) {
    this.facts = facts;
    this.svg.style.setProperty("--lane", `${facts.laneGap}px`);
    this.svg.style.setProperty("--size", `${facts.size}px`);
    this.structures = new Map(facts.structures.map((one) => [one.id, one]));
    this.targets = new Map(facts.targets.map((one) => [one.id, one]));
    this.shorts = new Map(facts.origins.map((one) => [one.id, one.short]));
    this.pathways = new Map(facts.targets.map((one) => [one.id, []]));
    this.through = new Map(facts.structures.map((one) => [one.id, []]));
    this.users = new Map([...this.lanes.keys()].map((name) => [name, []]));
    facts.pathways.forEach((pathway, place) => {
      const stops = [...pathway.structures, pathway.target];
      pathway.place = place;
      pathway.lanes = [`>${pathway.origin} ${pathway.origin}`, ...stops.slice(1).map((stop, i) => `${stops[i]}>${stop} ${pathway.origin}`)];
      this.pathways.get(pathway.target)?.push(pathway);
      for (const name of pathway.structures) this.through.get(name)?.push(pathway);
      for (const lane of pathway.lanes) this.users.get(lane)?.push(place);
    });
    this.listen();
  }

  structure(id) { return this.structures.get(id); }
  target(id) { return this.targets.get(id); }
  wordFor(finding) { return this.svg.querySelector(`[data-finding="${finding}"] text`).textContent; }

  listen() {
    const at = (event, what) => event.target.closest(what);
    this.svg.addEventListener("pointerover", (event) => {
      const row = at(event, ".target"), part = at(event, ".s");
      if (row) this.light(row.dataset.id);
      else if (part) this.lightThrough(part.dataset.id);
      else if (this.lit !== this.pinned) this.light(this.pinned);
    });
    this.svg.addEventListener("pointerleave", () => this.light(this.pinned));
    this.svg.addEventListener("focusin", (event) => {
      const row = at(event, ".target");
      if (row && row.dataset.id !== this.lit) this.light(row.dataset.id, true);
    });
    this.svg.addEventListener("click", (event) => {
      if (this.hasDragged) return;
      const finding = at(event, ".finding"), row = at(event, ".target"), part = at(event, ".s");
      if (finding) this.acts.tell(row.dataset.id, finding.dataset.finding);
      else if (row) this.pin(row.dataset.id);
      else if (part) this.acts.toggleCut(part.dataset.id);
      const stop = finding ?? row?.querySelector(".t") ?? part;
      if (stop) this.move(stop);
    });
    this.svg.addEventListener("keydown", (event) => this.key(event));
    this.drag();
  }

  // Keyboard: one stop for the structures, one for the targets; arrows within.

  move(to) {
    const group = to.closest(".structures, .rows");
    for (const other of group.querySelectorAll("[tabindex='0']")) other.setAttribute("tabindex", "-1");
    to.setAttribute("tabindex", "0");
    to.focus({ preventScroll: false });
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const part = event.target.closest(".s"), row = event.target.closest(".target");
    const done = part ? this.keyAtStructure(event, part) : row ? this.keyAtTarget(event, row) : false;
    if (done) event.preventDefault();
  }

  keyAtStructure(event, part) {
    const id = part.dataset.id, here = this.structure(id);
    if (event.key === "Enter" || event.key === " ") this.acts.toggleCut(id);
    else if (event.key === "+" || event.key === "=") this.acts.stepLevel(id, 1);
    else if (event.key === "-") this.acts.stepLevel(id, -1);
    else if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      const tier = [...this.structures.values()].filter((one) => one.tier === here.tier).sort((a, b) => a.y - b.y);
      this.goTo(tier[tier.indexOf(here) + (event.key === "ArrowUp" ? -1 : 1)]);
    } else if (event.key === "ArrowRight" || event.key === "ArrowLeft") {
      const step = event.key === "ArrowRight" ? 1 : -1, beside = new Set();
      for (const { structures } of this.through.get(id)) beside.add(structures[structures.indexOf(id) + step]);
      const found = [...beside].filter((name) => this.structures.has(name)).map((name) => this.structure(name));
      this.goTo(found.sort((a, b) => Math.abs(a.y - here.y) - Math.abs(b.y - here.y))[0]);
    } else return false;
    return true;
  }

  goTo(structure) { if (structure) this.move(this.parts.get(structure.id)); }

  keyAtTarget(event, row) {
    const stops = [...row.querySelectorAll("[role=button]")], rows = [...this.rows.values()];
    const column = Math.max(0, stops.indexOf(event.target.closest("[role=button]"))), id = row.dataset.id;
    const to = (other) => { if (other) this.move(other.querySelectorAll("[role=button]")[column]); };
    if (event.key === "ArrowDown") to(rows[rows.indexOf(row) + 1]);
    else if (event.key === "ArrowUp") to(rows[rows.indexOf(row) - 1]);
    else if (event.key === "Home") to(rows[0]);
    else if (event.key === "End") to(rows.at(-1));
    else if (event.key === "ArrowRight" && stops[column + 1]) this.move(stops[column + 1]);
    else if (event.key === "ArrowLeft" && stops[column - 1]) this.move(stops[column - 1]);
    else if (event.key === "Enter" || event.key === " ") {
      if (stops[column].dataset.finding) this.acts.tell(id, stops[column].dataset.finding); else this.pin(id);
    } else if (event.key === "a" || event.key === "s") this.acts.tell(id, event.key === "a" ? "affected" : "spared");
    else if (event.key === "Delete" || event.key === "Backspace") this.acts.tell(id, "");
    else return false;
    return true;
  }

  // Lighting

  pin(id) {
    this.pinned = this.pinned === id ? undefined : id;
    for (const [name, row] of this.rows) row.querySelector(".t").setAttribute("aria-pressed", name === this.pinned);
    this.light(id, true);
    if (this.pinned) this.acts.hear(`${this.target(id).name}${this.count(this.pathways.get(id).length)}.`);
  }

  dark() {
    this.timers.forEach(clearTimeout);
    this.timers = [];
    for (const node of this.svg.querySelectorAll(".lit")) node.classList.remove("lit");
  }

  light(id, atOnce = false) {
    this.dark();
    this.lit = id;
    this.svg.classList.toggle("lighting", Boolean(id));
    this.list(id);
    if (!id) return;
    this.rows.get(id).classList.add("lit");
    this.pathways.get(id).forEach((pathway, place) => {
      if (place === 0 || atOnce || calm.matches || id === this.pinned) this.lightOne(pathway);
      else this.timers.push(setTimeout(() => this.lightOne(pathway), place * STEP));
    });
  }

  lightOne(pathway) {
    for (const lane of pathway.lanes) this.lanes.get(lane)?.classList.add("lit");
    for (const name of pathway.structures) this.parts.get(name)?.classList.add("lit");
  }

  lightThrough(id) {
    this.dark();
    this.lit = undefined;
    const pathways = this.through.get(id) ?? [];
    this.svg.classList.toggle("lighting", pathways.length > 0);
    this.parts.get(id).classList.add("lit");
    for (const pathway of pathways) {
      for (const lane of pathway.lanes) this.lanes.get(lane)?.classList.add("lit");
      this.rows.get(pathway.target)?.classList.add("lit");
    }
  }

  count(number) { return number === 1 ? this.say.sayOne : this.say.sayMany.replace("#", number); }

  /** Write the pathways of a target beside the leaf. */
  list(id) {
    const into = document.getElementById("pathways");
    if (!id) { into.replaceChildren(text("p", this.say.sayHint, "small quiet")); return; }
    const target = this.target(id), pathways = this.pathways.get(id);
    const head = text("p", "", "small");
    head.append(text("b", target.name), this.count(pathways.length));
    const list = text("ol", "", "pathlist"), hasMain = pathways.some((pathway) => pathway.main);
    for (const pathway of pathways) {
      const names = pathway.structures.slice(1).map((name) => this.structure(name)?.name ?? name);
      const line = text("li", "");
      line.append(text("b", this.shorts.get(pathway.origin)), names.join(" › ") || this.say.sayDirectly, pathway.main || !hasMain ? "" : ` · ${this.say.sayLesser}`);
      if (this.cut.lost.has(pathway.place)) line.append(text("span", ` · ${this.say.sayCut}`, "red"));
      list.append(line);
    }
    into.replaceChildren(head, ...(target.test ? [text("p", this.say.sayTest.replace("#", target.test), "small quiet")] : []), list);
  }

  // Cuts and findings

  showCut(data) {
    this.cut = { ...data, lost: new Set(data.lost) };
    for (const [name, users] of this.users) {
      const isLost = users.length > 0 && users.every((place) => this.cut.lost.has(place));
      this.lanes.get(name).classList.toggle("lost", isLost);
    }
    for (const [id, row] of this.rows) {
      const loss = data.losses[id];
      row.classList.toggle("weakened", Boolean(loss));
      row.classList.toggle("bereft", Boolean(loss?.all));
    }
    for (const part of this.parts.values()) this.mark(part, undefined);
    for (const site of data.sites) {
      if (!site.end) this.mark(this.parts.get(site.structure), site.level);
      else for (const [name, lane] of this.lanes) if (name.startsWith(`${site.structure}>${site.end} `)) this.slashes(lane);
    }
    this.showFigures(this.hasFigures);
    this.list(this.lit);
  }

  /** Mark a structure as cut at a level: two slashes before the joint, or past it from level 2 on. */
  mark(part, level) {
    if (!part) return;
    part.querySelector(".slashes")?.remove();
    if (level === undefined) for (const old of this.svg.querySelectorAll(".slashes.of-link")) old.remove();
    part.classList.toggle("cut", level !== undefined);
    part.setAttribute("aria-pressed", level !== undefined);
    if (level === undefined) return;
    const one = this.structure(part.dataset.id), places = one.levels.map((found) => found.level);
    const off = level > 1 ? 7 + 5 * places.indexOf(level) : one.levels.length && part.querySelector(".joint") ? -9 : 20;
    part.append(this.pair(one.x + Math.cos(one.angle) * off, one.y + Math.sin(one.angle) * off, one.angle, one.half + 5));
  }

  slashes(lane) {
    const long = lane.getTotalLength(), at = lane.getPointAtLength(long / 2), next = lane.getPointAtLength(long / 2 + 1);
    const pair = this.pair(at.x, at.y, Math.atan2(next.y - at.y, next.x - at.x), 8);
    pair.classList.add("of-link");
    this.svg.querySelector(".ground-of-leaf").append(pair);
  }

  pair(x, y, angle, half) {
    const group = document.createElementNS(SVG, "g");
    group.setAttribute("class", "slashes");
    const [ax, ay] = [Math.cos(angle), Math.sin(angle)], [nx, ny] = [-ay, ax];
    for (const off of [-2, 3]) {
      const line = document.createElementNS(SVG, "line");
      const points = { x1: x + ax * (off + 3) - nx * half, y1: y + ay * (off + 3) - ny * half, x2: x + ax * (off - 3) + nx * half, y2: y + ay * (off - 3) + ny * half };
      for (const [name, value] of Object.entries(points)) line.setAttribute(name, value.toFixed(1));
      group.append(line);
    }
    return group;
  }

  showFigures(on) {
    this.hasFigures = on;
    for (const [id, row] of this.rows) {
      const loss = this.cut.losses[id];
      row.querySelector(".loses").textContent = loss ? (on ? loss.figure : loss.word) : "";
    }
  }

  showFindings(findings) {
    for (const [id, row] of this.rows) for (const part of row.querySelectorAll(".finding")) part.setAttribute("aria-pressed", findings.get(id) === part.dataset.finding);
  }

  // Zoom and pan

  zoom(step) {
    this.scale = step ? Math.min(4, Math.max(0.5, this.scale * step)) : 1;
    this.svg.style.setProperty("width", `${this.scale * 100}%`);
    this.box.classList.toggle("zoomed", this.scale > 1);
  }

  drag() {
    let from;
    this.box.addEventListener("pointerdown", (event) => {
      this.hasDragged = false;
      if (event.pointerType === "mouse" && event.button === 0) from = { x: event.clientX, y: event.clientY, left: this.box.scrollLeft, top: this.box.scrollTop };
    });
    addEventListener("pointermove", (event) => {
      if (!from) return;
      if (Math.hypot(event.clientX - from.x, event.clientY - from.y) > 5) this.hasDragged = true;
      if (this.hasDragged) this.box.scrollTo(from.left - event.clientX + from.x, from.top - event.clientY + from.y);
    });
    addEventListener("pointerup", () => { from = undefined; });
  }
}
