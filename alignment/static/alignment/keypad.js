// data-keypad on a text field: large keys at the foot of a phone's screen fill it.
const NARROW = matchMedia("(max-width: 48rem), (pointer: coarse)");
const SHOWN = "input[data-keypad]";
const words = document.currentScript.dataset;
const pad = Object.assign(document.createElement("div"), { className: "keypad", hidden: true });
document.body.append(pad);

function keyed(name, press, more = "") {
  const key = document.createElement("button");
  Object.assign(key, { type: "button", className: `key ${more}`, textContent: name, tabIndex: -1 });
  key.addEventListener("click", press);
  return key;
}

function write(field, text) {
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  field.dispatchEvent(new Event("change", { bubbles: true }));
  pad.querySelector("output").textContent = text;
}

function goOn(field) {
  const fields = [...field.form.querySelectorAll(SHOWN)].filter((one) => one.checkVisibility());
  (fields[fields.indexOf(field) + 1] || { focus: close }).focus();
}

const close = () => Object.assign(pad, { hidden: true });

function typeInstead(field) {
  Object.assign(field, { inputMode: "text" }).dataset.typed = "yes";
  field.blur();
  field.focus();
}

function titleOf(field) {
  const group = field.closest("fieldset")?.querySelector("legend");
  const title = document.createElement("p");
  const value = document.createElement("output");
  value.textContent = field.value;
  title.append([group, field.labels[0]].map((one) => one?.textContent.trim()).filter(Boolean).join(", "), " ", value);
  return title;
}

function open(field) {
  const keys = keysFor(field).map(([name, to]) => keyed(name, () => write(field, to(field.value))));
  keys.splice(DIGITS.length + 1, 0, keyed(words.next, () => goOn(field), "key-main"));
  const others = [keyed(words.type, () => typeInstead(field)), keyed(words.close, close)];
  pad.replaceChildren(titleOf(field), ...others, ...keys);
  pad.hidden = false;
  showAbove(field);
}

// the page scrolls clear of the keys, however high they lie
function showAbove(field) {
  document.documentElement.style.setProperty("--keypad", `${pad.offsetHeight}px`);
  field.scrollIntoView({ block: "center" });
}

// a press on a key leaves the field its focus
pad.addEventListener("mousedown", (event) => event.preventDefault());
const isKeyed = (one) => one.matches(SHOWN) && !one.dataset.typed && NARROW.matches;
document.addEventListener("pointerdown", ({ target }) => {
  if (isKeyed(target)) target.inputMode = "none";
});
document.addEventListener("click", ({ target }) => pad.hidden && isKeyed(target) && open(target));
document.addEventListener("focusin", ({ target }) => (isKeyed(target) ? open(target) : close()));
addEventListener("resize", () => pad.hidden || showAbove(document.activeElement));
