// The deck: the register of the map's tables, with a line for every card that the deck can hold.
import { Register } from "../map/register.js";

export function openDeck(frame, hear, changed) {
  const deck = new Deck(frame, hear);
  deck.changed = changed;
  deck.open();
  return deck;
}

class Deck extends Register {
  // Lines

  rowsOf(data) {
    return data.lines.map((line) => {
      const cells = this.fit(line.cells);
      return { row: line.row, was: line.row ? line.cells : null, usual: line.row ? null : cells, card: line.card, now: [...cells] };
    });
  }

  besideOf(row) { return this.table.beside[row.card]; }
  rowName(place) { const row = this.shown[place]; return this.besideOf(row)?.name ?? row.card ?? ""; }
  furtherHeads() { return this.table.heads; }
  furtherCells(row) { return this.besideOf(row)?.cells ?? this.table.heads.map(() => "–"); }
  isAdded(row) { return row.usual ? row.now.some((value, column) => value !== row.usual[column]) : !row.was && row.now.some(Boolean); }
  isChanged(row, column) { return row.usual ? row.usual[column] !== row.now[column] : super.isChanged(row, column); }

  /** Where a row of the file as it would be saved stands here; the other view's rows are in it too. */
  placeOf(number) {
    const gone = this.rows.filter((row) => row.isGone), after = this.table.last.row - gone.length;
    if (number > after) return this.shown.indexOf(this.rows.filter((row) => this.isAdded(row))[number - after - 1]);
    return this.shown.findIndex((row) => row.was && row.row - gone.filter((one) => one.row < row.row).length === number);
  }

  changes() {
    if (!this.table) return [];
    const found = [];
    for (const row of this.rows) {
      if (row.was && row.isGone) found.push({ kind: "remove", row: row.row, was: row.was, now: [] });
      else if (row.was && row.now.some((value, column) => super.isChanged(row, column))) found.push({ kind: "change", row: row.row, was: row.was, now: row.now });
      else if (!row.was && this.isAdded(row)) found.push({ kind: "add", row: this.table.last.row, was: this.table.last.was, now: row.now });
    }
    return found;
  }

  // What stands in a blank cell, and what is not to be changed

  draw() { super.draw(); this.drawUsual(); }

  drawUsual() {
    const at = this.table.columns.indexOf("card");
    this.shown.forEach((row, place) => {
      const holds = this.besideOf(row)?.blanks ?? {};
      this.table.columns.forEach((name, column) => {
        const cell = this.cell(place, column), usual = holds[name] ?? "";
        if (column === at) { cell.classList.toggle("fixed", this.isFixed(row)); return; }
        cell.dataset.ghost = usual;
        if (!row.now[column] && usual) cell.setAttribute("aria-label", `${this.say.sayCell.replace("#c", name).replace("#r", this.rowName(place))}: ${this.say.sayHolds.replace("#", usual)}`);
      });
      this.lines[place].querySelectorAll("td.beside").forEach((cell, number) => { cell.textContent = this.furtherCells(row)[number] ?? ""; });
    });
  }

  isFixed(row) { return Boolean(this.besideOf(row)); }
  edit(cell, first) { if (this.isFree(Number(cell.dataset.row), Number(cell.dataset.column))) super.edit(cell, first); }
  isFree(row, column) { return column !== this.table.columns.indexOf("card") || !this.isFixed(this.shown[row]); }
  write(cells) {
    const free = cells.filter(([row, column]) => this.isFree(row, column));
    if (!free.length) return;
    super.write(free);
    this.drawUsual();
  }

  /** A card whose row is taken out is as usual again. */
  removeRow() {
    const row = this.shown[this.place.row];
    if (!row) return;
    this.remember();
    const usual = this.fit(this.table.columns.map((name) => (name === "card" ? row.card : "")));
    if (row.was) {
      row.isGone = true;
      this.rows.splice(this.rows.indexOf(row) + 1, 0, { row: null, was: null, usual, card: row.card, now: [...usual] });
    } else row.now = [...usual];
    this.draw();
    this.go(this.place.row, this.place.column);
    this.hear(this.say.sayRowRemoved.replace("#", this.rowName(this.place.row)));
    this.proveSoon();
  }

  // With the sentences above

  isChangedAtAll() { return this.changes().length > 0; }
  pending() { return this.table ? { digest: this.table.digest, changes: this.changes() } : { digest: "", changes: [] }; }

  proveSoon() { super.proveSoon(); this.changed(); }

  take(data) { super.take(data); this.tellHow(); }
  tellHow() { document.getElementById("deck-how").textContent = this.table.how; }

  /** Figures of the edited game beside the cards. */
  beside(views) {
    const found = this.table && views[this.table.name];
    if (!found || !Object.keys(found).length || this.editing) return;
    this.table.beside = found;
    this.drawUsual();
  }
}
