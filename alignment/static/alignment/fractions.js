// data-fractions on a text field: large buttons for the fractions of an inch that its form's mark shows.
const parts = (mark) => (/^1\/(16|32|64) in$/.test(mark) ? Number(mark.slice(2, 4)) : 0);

function reduced(over, under) {
  while (over % 2 === 0) {
    over /= 2;
    under /= 2;
  }
  return `${over}/${under}`;
}

// the buttons stop at 32nds: more would not be found by a gloved thumb
function fractions(under) {
  const shown = Math.min(under, 32);
  return Array.from({ length: Math.max(shown - 1, 0) }, (_, n) => reduced(n + 1, shown));
}

function fractionButton(fraction, field) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button";
  button.textContent = fraction;
  button.addEventListener("click", () => {
    const whole = field.value.trim().match(/^\d+(?= |$)(?! *\/)/);
    field.value = whole ? `${whole[0]} ${fraction}` : fraction;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  });
  return button;
}

function show(keys, field) {
  for (const other of document.querySelectorAll("[data-fraction-keys]")) other.hidden = true;
  const mark = field.form.querySelector("select[name$='-mark']");
  const under = parts(mark ? mark.value : "");
  keys.replaceChildren(...fractions(under).map((fraction) => fractionButton(fraction, field)));
  keys.hidden = under === 0;
  // 64ths are typed, so the keyboard must have the stroke
  field.inputMode = under === 64 ? "text" : "decimal";
}

for (const field of document.querySelectorAll("input[data-fractions]")) {
  const keys = document.createElement("div");
  keys.className = "actions";
  keys.hidden = true;
  keys.dataset.fractionKeys = "";
  field.after(keys);
  field.addEventListener("focus", () => show(keys, field));
}
