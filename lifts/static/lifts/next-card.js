// data-next-card around cards: what is answered by touch brings the next unanswered card up.
const FIRM = "firm";

// arrow keys change radios on their way: only a touch is an answer
let isTouched = false;
document.addEventListener("pointerdown", () => { isTouched = true; }, true);
document.addEventListener("keydown", () => { isTouched = false; }, true);

function isAnswered(card, name) {
  const choices = card.querySelectorAll(`input[type=radio][name*="-${name}-"]`);
  return !choices.length || [...choices].some((choice) => choice.checked);
}

function isDone(card) {
  return ["found", "pin", "bearing"].every((name) => isAnswered(card, name));
}

function isFirm(card) {
  return card.querySelector(`input[value="${FIRM}"]:checked`) !== null;
}

function bringUpNext(card, cards) {
  const after = cards.slice(cards.indexOf(card) + 1);
  const next = after.find((one) => !isDone(one));
  if (!next) return;
  const isStill = matchMedia("(prefers-reduced-motion: reduce)").matches;
  next.scrollIntoView({ block: "start", behavior: isStill ? "auto" : "smooth" });
}

for (const list of document.querySelectorAll("[data-next-card]")) {
  list.addEventListener("change", (event) => {
    const card = event.target.closest(".card");
    if (!isTouched || !card || event.target.type !== "radio") return;
    if (isFirm(card) && isDone(card)) bringUpNext(card, [...list.querySelectorAll(".card")]);
  });
}
