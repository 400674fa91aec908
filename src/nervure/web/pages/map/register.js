// A table of the map, edited in place: one tab stop, proved by the workbench before it is saved.
const PROVE_AFTER = 250; // milliseconds without a key

export function openRegister(frame, hear) { new Register(frame, hear).open(); }

function make(tag, content = "", attributes = {}) {
  const node = document.createElement(tag);
  node.textContent = content;
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  return node;
}

export class Register {
  constructor(frame, hear) {
    Object.assign(this, { frame, hear, say: frame.dataset, base: frame.dataset.base });
    this.grid = document.getElementById("grid");
    this.which = document.getElementById("which");
    this.notice = document.getElementById("notice");
    this.part = Object.fromEntries(["save", "save-why", "undo", "add-row", "remove-row", "row-sources"].map((id) => [id, frame.querySelector(`#${id}, #${id}-cell`)]));
  }

  open() {
    this.which.addEventListener("change", () => this.load());
    this.grid.addEventListener("focusin", (event) => { const cell = event.target.closest("td[data-column]"); if (cell) this.at(cell); });
    this.grid.addEventListener("keydown", (event) => this.key(event));
    this.grid.addEventListener("dblclick", (event) => { const cell = event.target.closest("td[data-column]"); if (cell) this.edit(cell); });
    this.grid.addEventListener("paste", (event) => this.paste(event));
    this.grid.addEventListener("click", (event) => { const cell = event.target.closest("td[data-column]"); if (cell && !this.editing) cell.focus(); });
    this.part.undo.addEventListener("click", () => this.undo());
    this.part["add-row"].addEventListener("click", () => this.addRow());
    this.part["remove-row"].addEventListener("click", () => this.removeRow());
    this.part.save.addEventListener("click", () => this.save());
    addEventListener("beforeunload", (event) => { if (this.changes().length) event.preventDefault(); });
    addEventListener("hashchange", () => this.followLink());
    this.load();
  }

  async send(what, body) {
    const options = { headers: { accept: "application/json" } };
    if (body !== undefined) Object.assign(options, { method: "POST", body: JSON.stringify(body), headers: { accept: "application/json", "content-type": "application/json" } });
    const answer = await fetch(`${this.base}/${what}`, options);
    return { status: answer.status, data: await answer.json() };
  }

  async load() {
    if (this.changes().length && this.table && this.which.value !== this.table.name) this.kept = { ...(this.kept ?? {}), [this.table.name]: this.rows };
    try {
      const { status, data } = await this.send(this.which.value);
      if (status !== 200) { this.tellWhy(data.message); return; }
      this.take(data);
    } catch { this.tellWhy(this.say.sayFailed); }
  }

  /** Show a table as the workbench gave it; edits of it made on this page before stay. */
  take(data) {
    this.table = data;
    this.past = [];
    const earlier = this.kept?.[data.name];
    this.rows = earlier ?? this.rowsOf(data);
    if (earlier) delete this.kept[data.name];
    this.faults = data.faults;
    this.place = { row: 0, column: 0 };
    this.notice.hidden = true;
    if (data.draft) this.offerDraft(data.draft);
    this.draw();
    if (earlier) this.proveSoon();
  }

  /** What a table with lines of its own may tell otherwise: its rows, their names and places. */
  rowsOf(data) { return data.rows.map((cells, place) => ({ row: place + 2, was: cells, now: this.fit(cells) })); }
  rowName(place) { return String(place + 2); }
  placeOf(row) { return row - 2; }
  furtherHeads() { return []; }
  furtherCells() { return []; }

  fit(cells) { return [...cells, ...Array(Math.max(0, this.table.columns.length - cells.length)).fill("")]; }

  offerDraft(draft) {
    const button = make("button", this.say.sayDraft, { type: "button", class: "plain" });
    button.addEventListener("click", () => {
      for (const change of draft.changes) this.takeUp(change);
      this.notice.hidden = true;
      this.draw();
      this.proveSoon();
    });
    this.notice.replaceChildren(button);
    this.notice.hidden = false;
  }

  takeUp(change) {
    const same = (row) => row.was && row.was.join("\u001f") === change.was.join("\u001f");
    const found = this.rows.find(same);
    if (change.kind === "add") this.rows.splice(found ? this.rows.indexOf(found) + 1 : this.rows.length, 0, { row: change.row, was: null, now: this.fit(change.now) });
    else if (found && change.kind === "change") found.now = this.fit(change.now);
    else if (found) found.isGone = true;
  }

  // Drawing

  draw() {
    const { columns } = this.table;
    const head = make("tr");
    head.append(make("th", this.say.sayRow, { scope: "col", class: "line" }), ...columns.map((name) => make("th", name, { scope: "col" })), ...this.furtherHeads().map((name) => make("th", name, { scope: "col" })));
    const thead = make("thead"), body = make("tbody");
    thead.append(head);
    this.lines = [];
    this.shown = this.rows.filter((row) => !row.isGone);
    this.shown.forEach((row, place) => {
      const line = make("tr");
      const number = make("th", this.rowName(place), { scope: "row", class: "line" });
      line.append(number, ...columns.map((name, column) => {
        const cell = make("td", row.now[column], { role: "gridcell", tabindex: "-1", "data-column": column, "data-row": place, "aria-label": `${this.say.sayCell.replace("#c", name).replace("#r", this.rowName(place))}: ${row.now[column]}` });
        if (this.isChanged(row, column)) cell.classList.add("changed");
        return cell;
      }), ...this.furtherCells(row).map((text) => make("td", text, { class: "beside" })));
      this.lines.push(line);
      body.append(line);
    });
    this.grid.replaceChildren(make("caption", this.table.file), thead, body);
    this.stop();
    this.drawFaults();
  }

  isChanged(row, column) { return !row.was || (row.was[column] ?? "") !== row.now[column]; }
  cell(row, column) { return this.lines[row]?.querySelector(`[data-column="${column}"]`); }

  stop() {
    this.place.row = Math.max(0, Math.min(this.place.row, this.lines.length - 1));
    for (const old of this.grid.querySelectorAll("[tabindex='0']")) old.setAttribute("tabindex", "-1");
    this.cell(this.place.row, this.place.column)?.setAttribute("tabindex", "0");
  }

  drawFaults() {
    for (const old of this.grid.querySelectorAll("tr.message")) old.remove();
    for (const old of this.grid.querySelectorAll("[aria-invalid]")) { old.removeAttribute("aria-invalid"); old.removeAttribute("aria-describedby"); }
    const mine = this.faults.filter((fault) => fault.table === this.table.name && fault.level === "error");
    for (const fault of mine) {
      const line = this.lines[this.placeOf(fault.row)], column = this.table.columns.indexOf(fault.column);
      if (!line) continue;
      const cell = column >= 0 ? this.cell(this.placeOf(fault.row), column) : null;
      const why = this.note(line, fault.message, "message", `why-${fault.row}-${column}`);
      if (cell) { cell.setAttribute("aria-invalid", "true"); cell.setAttribute("aria-describedby", why); }
    }
    for (const [row, target] of Object.entries(this.table.disputed)) {
      const place = this.shown.findIndex((one) => one.row === Number(row) && one.was);
      if (place >= 0 && !mine.some((fault) => fault.row === place + 2)) this.lines[place].classList.add("disputed");
      if (place >= 0) this.lines[place].dataset.disputed = target;
    }
    this.tellState();
  }

  note(line, message, kind, id) {
    const row = make("tr", "", { class: kind }), cell = make("td", message, { colspan: this.table.columns.length + this.furtherHeads().length, id });
    row.append(make("td"), cell);
    line.after(row);
    return id;
  }

  errors() {
    const before = new Set(this.table.faults.filter((fault) => fault.level === "error").map((fault) => fault.code + fault.message.replace(/\d+/g, "")));
    return this.faults.filter((fault) => fault.level === "error" && (fault.table === this.table.name || !before.has(fault.code + fault.message.replace(/\d+/g, ""))));
  }

  tellState() {
    const errors = this.errors(), changed = this.changes().length;
    const count = (number, one, many) => (number === 1 ? one : many.replace("#", number));
    this.isProved = !this.waits;
    const elsewhere = errors.find((fault) => fault.table !== this.table.name);
    let why = changed ? count(changed, this.say.sayToSaveOne, this.say.sayToSaveMany) : "";
    if (errors.length && changed) why = elsewhere && errors.length === 1 ? elsewhere.message : count(errors.length, this.say.sayMendOne, this.say.sayMendMany);
    if (this.waits && changed) why = this.say.sayProving;
    this.tellWhy(why, errors.length > 0 && changed > 0);
    this.part.save.setAttribute("aria-disabled", String(!changed || Boolean(this.waits) || this.blocks(errors)));
    this.part.undo.disabled = this.past.length === 0;
  }

  /** Errors that the table had before do not keep a better row from being saved. */
  blocks(errors) { return errors.length > this.table.faults.filter((fault) => fault.level === "error" && fault.table === this.table.name).length; }

  tellWhy(text, isBad = false) {
    this.part["save-why"].textContent = text ?? "";
    this.part["save-why"].className = isBad ? "small red" : "small quiet";
  }

  // Moving and editing

  at(cell) {
    this.place = { row: Number(cell.dataset.row), column: Number(cell.dataset.column) };
    if (cell.getAttribute("tabindex") !== "0") this.stop();
    this.tellSources();
  }

  tellSources() {
    const column = this.table.columns.findIndex((name) => name === "sources" || name === "source");
    const row = this.shown[this.place.row], line = this.lines[this.place.row];
    if (!row || column < 0 || this.table.name === "sources") { this.part["row-sources"].textContent = ""; return; }
    const names = row.now[column].split(/\s+/).filter(Boolean);
    const cited = names.map((name) => this.table.sources[name] ?? name).join("; ") || this.say.saySourcesNone;
    this.part["row-sources"].textContent = `${this.say.saySources.replace("#", this.place.row + 2)} ${cited}${/[.)]$/.test(cited) ? "" : "."} `;
    if (line?.dataset.disputed) this.part["row-sources"].append(make("a", this.say.sayDisputed, { href: `#sources-${line.dataset.disputed}` }));
  }

  followLink() {
    const drawer = location.hash.startsWith("#sources-") ? document.getElementById(location.hash.slice(1)) : null;
    if (drawer) drawer.open = true;
  }

  go(row, column) {
    const cell = this.cell(Math.max(0, Math.min(row, this.lines.length - 1)), Math.max(0, Math.min(column, this.table.columns.length - 1)));
    if (cell) { this.at(cell); cell.focus(); }
  }

  key(event) {
    if (this.editing) { this.keyWhileEditing(event); return; }
    const cell = event.target.closest("td[data-column]");
    if (!cell) return;
    const { row, column } = this.place, steps = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1], PageUp: [-12, 0], PageDown: [12, 0] };
    const command = event.ctrlKey || event.metaKey;
    if (command && event.key.toLowerCase() === "z") this.undo();
    else if (command || event.altKey) return;
    else if (steps[event.key]) this.go(row + steps[event.key][0], column + steps[event.key][1]);
    else if (event.key === "Home") this.go(row, 0);
    else if (event.key === "End") this.go(row, this.table.columns.length - 1);
    else if (event.key === "Enter" || event.key === "F2") this.edit(cell);
    else if (event.key === "Delete" || event.key === "Backspace") this.write([[row, column, ""]]);
    else if (event.key.length === 1) this.edit(cell, event.key);
    else return;
    event.preventDefault();
  }

  edit(cell, first) {
    this.at(cell);
    const { row, column } = this.place, box = make("textarea", "", { rows: "1", spellcheck: "false", "aria-label": this.say.sayCell.replace("#c", this.table.columns[column]).replace("#r", this.rowName(row)) });
    box.value = first ?? this.shown[row].now[column];
    this.editing = { box, row, column };
    cell.replaceChildren(box);
    box.focus();
    box.setSelectionRange(box.value.length, box.value.length);
    box.addEventListener("blur", () => this.leave(true));
  }

  keyWhileEditing(event) {
    const { row, column } = this.editing;
    if (event.key === "Escape") { this.leave(false); this.go(row, column); }
    else if (event.key === "Enter" && !event.shiftKey) { this.leave(true); this.go(row + 1, column); }
    else return;
    event.preventDefault();
  }

  leave(isKept) {
    if (!this.editing) return;
    const { box, row, column } = this.editing;
    this.editing = undefined;
    const cell = this.cell(row, column);
    cell.textContent = this.shown[row].now[column];
    if (isKept && box.value !== this.shown[row].now[column]) this.write([[row, column, box.value]]);
  }

  /** Write cells: row, column, text; one step of undo. */
  write(cells) {
    this.remember();
    for (const [row, column, value] of cells) {
      this.shown[row].now[column] = value;
      const cell = this.cell(row, column);
      if (!cell) continue;
      cell.textContent = value;
      cell.classList.toggle("changed", this.isChanged(this.shown[row], column));
      cell.setAttribute("aria-label", `${this.say.sayCell.replace("#c", this.table.columns[column]).replace("#r", this.rowName(row))}: ${value}`);
    }
    this.tellSources();
    this.proveSoon();
  }

  paste(event) {
    if (this.editing) return;
    const text = event.clipboardData.getData("text/plain").replace(/\r\n?/g, "\n").replace(/\n$/, "");
    if (!text) return;
    event.preventDefault();
    const { row, column } = this.place, block = text.split("\n").map((line) => line.split("\t"));
    this.remember();
    block.forEach((cells, down) => {
      if (!this.shown[row + down]) this.insert(this.rows.length, this.shown.length + 1);
      const line = this.shown[row + down];
      cells.forEach((value, right) => { if (column + right < this.table.columns.length) line.now[column + right] = value.trim(); });
    });
    this.draw();
    this.go(row, column);
    this.proveSoon();
  }

  remember() {
    this.past.push(this.rows.map((row) => ({ ...row, now: [...row.now] })));
    if (this.past.length > 100) this.past.shift();
  }

  undo() {
    const before = this.past.pop();
    if (!before) return;
    this.rows = before;
    this.draw();
    this.go(this.place.row, this.place.column);
    this.hear(this.say.sayUndone);
    this.proveSoon();
  }

  insert(place, number) {
    this.rows.splice(place, 0, { row: number, was: null, now: this.table.columns.map(() => "") });
    this.shown = this.rows.filter((row) => !row.isGone);
  }

  addRow() {
    const here = this.shown[this.place.row];
    this.remember();
    this.insert(here ? this.rows.indexOf(here) + 1 : this.rows.length, this.place.row + 2);
    this.draw();
    this.go(here ? this.place.row + 1 : 0, 0);
    this.proveSoon();
  }

  removeRow() {
    const here = this.shown[this.place.row];
    if (!here) return;
    this.remember();
    if (here.was) here.isGone = true; else this.rows.splice(this.rows.indexOf(here), 1);
    this.draw();
    this.go(this.place.row, this.place.column);
    this.hear(this.say.sayRowRemoved.replace("#", this.rowName(this.place.row)));
    this.proveSoon();
  }

  // Proving and saving

  changes() {
    if (!this.table) return [];
    const found = [];
    let before = null;
    for (const row of this.rows) {
      if (!row.was) { if (row.now.some(Boolean)) found.push({ kind: "add", row: before?.row ?? 1, was: before?.was ?? [], now: row.now }); continue; }
      before = row;
      if (row.isGone) found.push({ kind: "remove", row: row.row, was: row.was, now: [] });
      else if (row.now.some((value, column) => this.isChanged(row, column))) found.push({ kind: "change", row: row.row, was: row.was, now: row.now });
    }
    return found;
  }

  proveSoon() {
    clearTimeout(this.waits);
    this.waits = setTimeout(() => this.prove(), PROVE_AFTER);
    this.tellState();
  }

  async prove() {
    const waits = this.waits, changes = this.changes();
    if (!changes.length) { this.waits = undefined; this.faults = this.table.faults; this.drawFaults(); return; }
    try {
      const { status, data } = await this.send(`${this.table.name}/prove`, { digest: this.table.digest, changes });
      if (waits !== this.waits) return;
      this.waits = undefined;
      if (status === 200) { this.faults = data.faults; this.drawFaults(); const first = this.errors()[0]; if (first) this.hear(first.message); }
      else if (status === 409) this.showConflicts(data);
      else this.tellWhy(data.message ?? this.say.sayNotProved, true);
    } catch { if (waits === this.waits) { this.waits = undefined; this.tellWhy(this.say.sayFailed, true); } }
  }

  async save() {
    if (this.editing) this.leave(true);
    if (this.part.save.getAttribute("aria-disabled") === "true") { this.hear(this.part["save-why"].textContent); return; }
    try {
      const { status, data } = await this.send(`${this.table.name}/save`, { digest: this.table.digest, changes: this.changes() });
      if (status === 200) { this.take(data); this.tellWhy(data.told); this.hear(data.told); this.frame.dataset.saved = data.digest; return; }
      if (status === 409) { this.showConflicts(data); return; }
      if (status === 422 && data.faults?.length && data.faults[0].table) { this.faults = data.faults; this.drawFaults(); return; }
      this.tellWhy(data.told ?? data.message, true);
      this.hear(data.told ?? data.message);
    } catch { this.tellWhy(this.say.sayFailed, true); }
  }

  showConflicts(data) {
    const parts = [make("p", data.told ?? "", { class: "red" })];
    for (const conflict of data.conflicts) {
      const table = make("table"), body = make("tbody");
      const line = (name, cells) => { const row = make("tr"); row.append(make("th", name, { scope: "row" }), ...(cells ?? [this.say.sayGone]).map((cell) => make("td", cell))); body.append(row); };
      line(this.say.sayMine, conflict.mine);
      line(this.say.sayTheirs, conflict.theirs);
      table.append(make("caption", this.say.sayConflict.replace("#", conflict.row)), body);
      parts.push(table);
    }
    const anew = make("button", this.say.sayReloadFirst, { type: "button", class: "plain" });
    anew.addEventListener("click", () => { this.rows = []; this.load(); });
    this.notice.replaceChildren(...parts, anew);
    this.notice.hidden = false;
    this.notice.scrollIntoView({ block: "nearest" });
    this.hear(data.told ?? "");
  }
}
