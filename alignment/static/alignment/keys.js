// The keys for a field, by its data-keypad and the mark of the tape: [what stands on it, new text].
const DIGITS = [..."1234567890"];
const SIXTEENTHS = Array.from({ length: 15 }, (_, n) => (n + 1) * 4);
const SUFFIX = / *mm$/;

function markOf(field) {
  const mark = field.form.querySelector("select[name$='-mark']");
  return mark ? mark.value : "";
}

function inchKeys(mark) {
  const parts = partsOf(mark);
  const finer = [32, 64].filter((under) => under <= parts);
  return [
    ...DIGITS.map((digit) => [digit, (text) => withDigit(text, digit)]),
    ["⌫", inchesWithoutLast],
    ...SIXTEENTHS.map((part) => [fractionOf(part), (text) => withFraction(text, part)]),
    ...finer.map((under) => [`+1/${under}`, (text) => withMore(text, SIXTY_FOURTHS / under)]),
  ];
}

function flatKeys() {
  return [
    ...DIGITS.map((digit) => [digit, (text) => withDigit(text, digit)]),
    ["⌫", inchesWithoutLast],
    ["+1/2", (text) => withFraction(text, SIXTY_FOURTHS / 2)],
  ];
}

// ``unit`` is written where the page would take the figure for another one
function plainKeys(unit, ...more) {
  const bare = (text) => text.replace(SUFFIX, "");
  const said = (text) => (text ? `${text}${unit}` : "");
  return [
    ...DIGITS.map((one) => [one, (text) => said(`${bare(text)}${one}`)]),
    ["⌫", (text) => said(bare(text).slice(0, -1))],
    [".", (text) => said(`${bare(text)}.`)],
    ...more,
  ];
}

const SIGN = ["±", (text) => (text.startsWith("-") ? text.slice(1) : `-${text}`)];

function keysFor(field) {
  const { keypad, unit } = field.dataset;
  if (keypad === "flats") return flatKeys();
  if (keypad === "angle") return plainKeys("", SIGN);
  if (keypad !== "length") return plainKeys("");
  const mark = markOf(field);
  if (!partsOf(mark)) return plainKeys(unit === "mm" ? "" : " mm");
  return inchKeys(mark);
}
