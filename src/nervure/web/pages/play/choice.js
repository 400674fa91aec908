// Choosing a card, then a place: a short cut over the list of moves in words.
export class Choice {
  constructor(table, send) {
    Object.assign(this, { table, send, key: undefined });
    table.addEventListener("click", (event) => {
      const card = event.target.closest("[data-source]"), slot = event.target.closest("[data-place]");
      if (slot) this.place(slot);
      else if (card) this.choose(card.dataset.key === this.key ? undefined : card);
    });
    table.addEventListener("keydown", (event) => { if (event.key === "Escape" && this.key) this.choose(undefined); });
  }

  moves() { return [...this.table.querySelectorAll(".inwords [data-move]")]; }

  /** The moves that begin with a card. */
  movesOf(source) { return this.moves().filter((move) => move.dataset.from.split(" ").includes(source)); }

  choose(card) {
    this.key = card?.dataset.key;
    for (const other of this.table.querySelectorAll("[data-source]")) other.setAttribute("aria-pressed", other === card);
    const into = this.table.querySelector("#chosen"), list = this.table.querySelector("#chosen-moves");
    for (const slot of this.table.querySelectorAll("[data-place]")) slot.hidden = true;
    if (!into) return;
    this.hint ??= into.innerHTML;
    list.replaceChildren();
    if (!card) { into.innerHTML = this.hint; return; }
    into.innerHTML = card.parentElement.querySelector(".readingof") === card.nextElementSibling ? card.nextElementSibling.innerHTML : (card.nextElementSibling?.innerHTML ?? "");
    const moves = this.movesOf(card.dataset.source);
    for (const move of moves) {
      const line = document.createElement("li"), copy = move.cloneNode(true);
      copy.dataset.key = `chosen ${move.dataset.move}`;
      line.append(copy);
      list.append(line);
    }
    if (card.closest(".hand")) for (const slot of this.table.querySelectorAll("[data-place]")) slot.hidden = !this.fits(slot, moves);
  }

  fits(slot, moves) { return moves.some((move) => move.dataset.to === this.placeOf(slot)); }

  placeOf(slot) { return slot.dataset.side ? `${slot.dataset.place} ${slot.dataset.side}` : slot.dataset.place; }

  place(slot) {
    const card = this.table.querySelector("[data-source][aria-pressed='true']");
    const move = card && this.movesOf(card.dataset.source).find((one) => one.dataset.to === this.placeOf(slot));
    if (move) this.send(JSON.parse(move.dataset.move));
  }

  /** After the table was shown anew: keep the choice if its card is still there. */
  again() {
    this.hint = undefined;
    const card = [...this.table.querySelectorAll("[data-source]")].find((one) => one.dataset.key === this.key);
    this.choose(card);
  }
}
