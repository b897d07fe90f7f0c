// data-stepper on a number field: large buttons for less and more; typing stays possible.
const word = (name) => document.body.dataset[name] || "";

function stepButton(sign, spoken, field, step) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button";
  button.textContent = sign;
  button.setAttribute("aria-label", spoken);
  button.addEventListener("click", () => {
    step();
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  });
  return button;
}

for (const field of document.querySelectorAll("input[type=number][data-stepper]")) {
  // out of the page for a moment, a field has no label
  const label = field.labels[0] ? field.labels[0].textContent.trim() : "";
  const frame = document.createElement("div");
  frame.className = "stepper";
  field.replaceWith(frame);
  // stepDown and stepUp throw where the step is "any"
  if (field.step === "any") field.step = "1";
  frame.append(
    stepButton("−", `${word("wordLess")} ${label}`, field, () => field.stepDown()),
    field,
    stepButton("+", `${word("wordMore")} ${label}`, field, () => field.stepUp()),
  );
}
