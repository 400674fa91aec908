// Which seats the sentence asks about: none for the whole plan, else as many as there are players.
const form = document.querySelector("#asking");
if (form) {
  const { what, players } = form.elements;
  const seats = form.querySelector("#who");
  const shown = () => {
    const isLineUp = what.value === "line-up";
    if (isLineUp && !players.value) players.selectedIndex = 1;
    seats.hidden = !isLineUp;
    players.options[0].disabled = isLineUp;
    for (const seat of seats.querySelectorAll(".seat")) {
      seat.hidden = Number(seat.dataset.seat) > Number(players.value);
    }
  };
  what.addEventListener("change", shown);
  players.addEventListener("change", shown);
  shown();
}
