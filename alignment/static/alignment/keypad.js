// data-keypad on a text field: large keys at the foot of a phone's screen fill it.
const NARROW = matchMedia("(max-width: 48rem), (pointer: coarse)");
const SHOWN = "input[data-keypad]";
const words = document.currentScript.dataset;
const pad = document.createElement("div");
pad.className = "keypad";
pad.hidden = true;
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
  const fields = [...field.form.querySelectorAll(SHOWN)].filter((one) => one.offsetParent);
  const next = fields[fields.indexOf(field) + 1];
  if (next) next.focus();
  else close();
}

function close() {
  pad.hidden = true;
}

function typeInstead(field) {
  field.dataset.typed = "yes";
  field.inputMode = "text";
  close();
  field.blur();
  field.focus();
}

function open(field) {
  const label = document.createElement("p");
  const said = document.createElement("output");
  label.textContent = field.labels[0] ? field.labels[0].textContent.trim() : "";
  said.textContent = field.value;
  label.append(" ", said);
  const keys = keysFor(field).map(([name, to]) => keyed(name, () => write(field, to(field.value))));
  const others = [keyed(words.type, () => typeInstead(field), "key-wide"), keyed(words.close, close)];
  pad.replaceChildren(label, ...keys, ...others, keyed(words.next, () => goOn(field), "key-wide key-main"));
  pad.hidden = false;
  field.scrollIntoView({ block: "center" });
}

// a press on a key must leave the field its focus
pad.addEventListener("mousedown", (event) => event.preventDefault());
const isKeyed = (one) => one.matches(SHOWN) && !one.dataset.typed && NARROW.matches;
// before the focus, so that the phone's own keys stay down
document.addEventListener("pointerdown", ({ target }) => {
  if (isKeyed(target)) target.inputMode = "none";
});
document.addEventListener("focusin", ({ target }) => (isKeyed(target) ? open(target) : close()));
