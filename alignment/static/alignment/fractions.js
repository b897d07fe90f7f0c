// data-fractions on a text field: large buttons put a fraction of an inch after the whole inches.
const FRACTIONS = ["1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16"];

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

function lay(field) {
  const keys = document.createElement("div");
  keys.className = "actions";
  keys.hidden = true;
  keys.append(...FRACTIONS.map((fraction) => fractionButton(fraction, field)));
  field.after(keys);
  field.addEventListener("focus", () => {
    for (const other of document.querySelectorAll("[data-fraction-keys]")) other.hidden = other !== keys;
  });
  keys.dataset.fractionKeys = "";
  // the number pad is enough once the fractions have buttons
  field.inputMode = "decimal";
}

for (const field of document.querySelectorAll("input[data-fractions]")) lay(field);
