// Whole inches and a fraction as text: "35 7/8". What the keys of the keypad make of it.
const SIXTY_FOURTHS = 64;
const INCHES = /^\s*(?:(\d+)(?:\s+(?=\d)|\s*$))?(?:(\d+)\/(\d+))?\s*$/;

// "1/32 in" is 32; a tape in mm has no fractions
function partsOf(mark) {
  const found = /^1\/(16|32|64) in$/.exec(mark);
  return found ? Number(found[1]) : 0;
}

function fractionOf(count) {
  let [over, under] = [count, SIXTY_FOURTHS];
  while (over && over % 2 === 0) {
    over /= 2;
    under /= 2;
  }
  return `${over}/${under}`;
}

function readInches(text) {
  const found = INCHES.exec(text);
  if (!found) return { whole: "", part: 0 };
  const part = found[2] ? Math.round((SIXTY_FOURTHS * found[2]) / found[3]) : 0;
  return { whole: found[1] || "", part };
}

function writeInches({ whole, part }) {
  return [whole, part ? fractionOf(part) : ""].filter(Boolean).join(" ");
}

// after a fraction a digit begins another reading
function withDigit(text, digit) {
  const read = readInches(text);
  return read.part ? digit : `${read.whole}${digit}`;
}

function withFraction(text, part) {
  return writeInches({ ...readInches(text), part });
}

function withMore(text, part) {
  const read = readInches(text);
  return writeInches({ ...read, part: (read.part + part) % SIXTY_FOURTHS });
}

function inchesWithoutLast(text) {
  const read = readInches(text);
  return read.part ? read.whole : read.whole.slice(0, -1);
}
