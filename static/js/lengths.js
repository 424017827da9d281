// Lengths as people write them: read as engine/units.py reads them, the same texts to the same inches, refused in the same
// words; and printed to the nearest sixteenth. tests/browser/test_lengths_on_the_tablet.py holds the two together.

const LARGEST_IN = 1200, LONGEST_TEXT = 40, MM_PER_IN = 25.4;
const EXAMPLES = "12' 3 1/2\", 12-3 1/2, 147.5, 3.75 m or 95 mm";
const MARKS = { "’": "'", "′": "'", "‘": "'", "”": '"', "″": '"', "“": '"', "–": "-", "—": "-", "−": "-", "⁄": "/" };
const VULGAR = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
const METRIC = /^(\d+(?:\.\d*)?|\.\d+)\s*(mm|cm|m)$/i;
const FEET = /^(\d+(?:\.\d*)?|\.\d+)\s*(?:'|ft\.?|feet|foot)\s*-?\s*(.*)$/i;
const FEET_DASH = /^(\d+)-(\d.*)$/;
const INCH_MARK = /\s*(?:"|''|in\.?|inch|inches)$/i;
const MIXED = /^(?:(\d+)(?:\s+|-))?(\d+)\/(\d+)$/;
const PLAIN = /^(?:\d+(?:\.\d*)?|\.\d+)$/;

export class UnreadableLength extends Error {} // its message is for the person who typed it

// The length that the text says, in inches. Throws UnreadableLength.
export function readLength(text) {
  if ([...text].length > LONGEST_TEXT) throw new UnreadableLength(`This is too long for a length. Write it like ${EXAMPLES}.`);
  let cleaned = text.trim().replace(/[’′‘”″“–—−⁄]/g, (mark) => MARKS[mark]);
  cleaned = cleaned.replace(/\s*([½¼¾⅛⅜⅝⅞])/g, (_, sign) => ` ${VULGAR[sign]}`).replace(/\s+/g, " ").trim();
  if (!cleaned) throw new UnreadableLength(`Nothing was entered. Write it like ${EXAMPLES}.`);
  if (cleaned.startsWith("-")) throw new UnreadableLength("A length cannot be negative.");
  const value = valueOf(cleaned);
  if (value > LARGEST_IN) throw new UnreadableLength(`${feetAndInches(value)} is longer than the 100 ft taken. Check the unit.`);
  return value;
}

// The same, null for what is no length.
export function inches(text) {
  try {
    return readLength(text);
  } catch (problem) {
    if (problem instanceof UnreadableLength) return null;
    throw problem;
  }
}

function valueOf(cleaned) {
  const metric = METRIC.exec(cleaned);
  if (metric) return (Number(metric[1]) * { mm: 1, cm: 10, m: 1000 }[metric[2].toLowerCase()]) / MM_PER_IN;
  const feet = FEET.exec(cleaned);
  if (feet) return Number(feet[1]) * 12 + restOf(feet[2], true);
  const dash = FEET_DASH.exec(cleaned);
  if (dash && !MIXED.test(cleaned.replace(INCH_MARK, ""))) return Number(dash[1]) * 12 + restOf(dash[2], true);
  return restOf(cleaned, false);
}

function restOf(rest, hasFeet) {
  const text = rest.trim().replace(INCH_MARK, "").trim();
  if (!text && hasFeet) return 0;
  if (!text) throw new UnreadableLength(`No number in it. Write it like ${EXAMPLES}.`);
  const value = PLAIN.test(text) ? Number(text) : withFraction(text);
  if (hasFeet && value >= 12) throw new UnreadableLength("After the feet, inches must be below 12.");
  return value;
}

function withFraction(text) {
  const mixed = MIXED.exec(text);
  if (!mixed) throw new UnreadableLength(`This cannot be read as a length. Write it like ${EXAMPLES}.`);
  const [, whole, top, below] = mixed;
  if (Number(below) === 0) throw new UnreadableLength("A fraction cannot have 0 below the line.");
  if (Number(top) >= Number(below) && whole) throw new UnreadableLength(`The fraction ${top}/${below} is 1 or more; check it.`);
  return (Number(whole ?? 0) * Number(below) + Number(top)) / Number(below);
}

// 12' 3 1/2"; below a foot, or with `onlyInches`, 9 1/4".
export function feetAndInches(value, onlyInches = false) {
  const sixteenths = rounded(value * 16), feet = onlyInches ? 0 : Math.floor(sixteenths / 192);
  const rest = sixteenths - feet * 192, whole = Math.floor(rest / 16);
  let top = rest % 16, below = 16;
  while (top && top % 2 === 0) [top, below] = [top / 2, below / 2];
  const tail = [whole || (!top && !feet) ? whole : "", top ? `${top}/${below}` : ""].filter((each) => each !== "").join(" ");
  return [feet ? `${feet}'` : "", tail ? `${tail}"` : ""].filter(Boolean).join(" ");
}

// As Python rounds: where two are equally near, to the even one.
export function rounded(value, digits = 0) {
  const isHalf = Math.abs((value * 2 ** (digits + 1)) % 2) === 1;
  return isHalf ? (2 * Math.round((value * 10 ** digits) / 2)) / 10 ** digits : Number(value.toFixed(digits));
}
