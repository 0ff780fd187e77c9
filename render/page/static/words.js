// Values of a shot as words, and the numbers a hand turns. No optics here.

const SIDES = { tilt: ["down", "up"], swing: ["right", "left"], rise: ["up", "down"], shift: ["right", "left"] };
const UNITS = { tilt: "°", swing: "°", rise: " mm", shift: " mm" };
export const STOPS = ["1", "1.1", "1.2", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2", "3.5", "4", "4.5", "5", "5.6", "6.3", "7.1", "8", "9", "10", "11", "13", "14", "16", "18", "20", "22", "25", "29", "32"];

export const short = (value, digits = 2) => String(Number(value.toFixed(digits)));

const number = /(\d+(?:[.,]\d*)?|[.,]\d+)/;
// before three digits a comma may part thousands
const thousands = /(^|[^\d.,])[1-9]\d{0,2},\d{3}(?!\d)/;
const plain = (text) => (thousands.test(text) ? NaN : Number(text.replace(",", ".")));

/** "up 8", "8° up", "rise 6" -> signed number; null where it cannot be read. */
function readSide(name, text) {
  const found = number.exec(text);
  if (!found || /\b(m|cm|ft|in|yd)\b/.test(text)) return null;
  const value = plain(found[1]);
  if (value === 0) return 0;
  const words = text.toLowerCase().replace("rise", "up").replace("fall", "down");
  const [positive, negative] = SIDES[name];
  const has = (word) => new RegExp(`\\b${word}\\b`).test(words);
  if (has(positive) === has(negative)) return null;
  return has(positive) ? value : -value;
}

function writeSide(name, value) {
  const rounded = Number(short(Math.abs(value), 2));
  return rounded === 0 ? "0" : `${SIDES[name][value > 0 ? 0 : 1]} ${rounded}`;
}

export function sideKind(name, nothing) {
  return {
    read: (text) => readSide(name, text),
    write: (value) => writeSide(name, value),
    show: (value) => (Number(short(value)) === 0 ? nothing : writeSide(name, value) + UNITS[name]),
  };
}

// lengths are read here at once, by the rules of the program's own reader: tests give both the same

/** A length with its common fractions as decimals, as tapes are read: 58 1/2 in, 4 ft 10½ in. */
function decimal(text) {
  const spelled = text.replace(/[¼-¾⅐-⅞]/g, (sign) => ` ${sign.normalize("NFKC").replace("⁄", "/")}`);
  const fraction = /(?<![\d./])(?:(\d+)[\s-]+)?(\d+)\/([1-9]\d*)(?![\d./])/g;
  return spelled.trim().replace(fraction, (_, whole, part, of) => Number(whole ?? 0) + part / of);
}

/** Feet and inches as they are written together, or with their marks, in inches alone. */
function inInches(text) {
  const found = /^(?:(\d+\.?\d*|\.\d+)\s*(?:ft|feet|foot|(['’′]))[\s-]*)?(?:(\d+\.?\d*|\.\d+)\s*(?:in|inch|inches|(["”″]|''|’’|′′)))?$/.exec(text);
  const [, feet, foot, inches = 0, mark] = found ?? [];
  if (!found || !(feet || inches) || (!(feet && inches) && !foot && !mark) || (feet && inches >= 12)) return text;
  return `${12 * (feet ?? 0) + Number(inches)} in`;
}

function readLength(text, bare = 1) {
  const low = text.toLowerCase();
  return thousands.test(low) ? null : readPositive(inInches(decimal(low.replace(/(?<=\d),(?=\d)/g, "."))), LENGTHS, bare);
}

/** A number above 0, alone or with one of `units` behind; anything else is refused. */
function readPositive(text, units = {}, bare = 1) {
  const found = /^\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*([a-z]*)\s*$/i.exec(text.trim());
  if (!found) return null;
  const unit = found[2].toLowerCase(), each = unit === "" ? bare : units[unit];
  const value = each === undefined ? 0 : plain(found[1]) * each;
  return value > 0 ? value : null;
}

const named = (size, names) => Object.fromEntries(names.split(" ").map((name) => [name, size]));
const LENGTHS = {
  ...named(1, "m metre metres"), ...named(1000, "km"), ...named(0.01, "cm"),
  ...named(0.3048, "ft foot feet"), ...named(0.0254, "in inch inches"), ...named(0.9144, "yd yard yards"), ...named(1609.344, "mi mile miles"),
  ...named(3, "storey storeys story stories floor floors"),
};
const MILLIMETRES = named(1, "mm");

let feet = false;
export function tellIn(units) { feet = units === "feet"; }
export const inFeet = () => feet;
export const bareUnit = () => (feet ? "ft" : "m");
/** Metres in the unit that fits a length, and its short name; as the program tells them. */
export function unitFor(value) {
  if (!feet) return value >= 1000 ? [1000, "km"] : [1, "m"];
  return value >= 1609.344 ? [1609.344, "mi"] : value >= 0.9144 ? [0.3048, "ft"] : [0.0254, "in"];
}

export const stopKind = {
  read: (text) => readPositive(text.trim().replace(/^f\s*\/?/i, "")),
  write: (value) => nearestStop(value) ?? short(value),
  show: (value) => `f/${nearestStop(value) ?? short(value)}`,
};

function nearestStop(value) {
  const third = Math.round(6 * Math.log2(value));
  const exact = 2 ** (third / 6);
  const marked = STOPS[third];
  return marked && (Math.abs(value / exact - 1) < 0.004 || Number(marked) === Number(short(value))) ? marked : null;
}

export const lensKind = {
  read: (text) => readPositive(text, MILLIMETRES),
  write: (value) => short(value),
  show: (value) => `${Number(value.toPrecision(3))} mm`, // as every answer tells it
};

export function metres(value) {
  if (!Number.isFinite(value) || value >= 1e5) return "infinity";
  const [size, name] = unitFor(value), three = (value / size).toPrecision(3);
  return `${three.includes("e") ? Number(three) : three}\u00a0${name}`;
}

/** A distance as it is set, to the hundredth. */
function exactly(value) {
  if (!Number.isFinite(value) || value >= 1e5) return "infinity";
  const [size, name] = feet ? unitFor(value) : [1, "m"], number = value / size;
  return `${short(number)} ${name}`;
}

export const distanceKind = {
  read(text) {
    const low = text.trim().toLowerCase();
    return /^(inf(inity)?|∞)$/.test(low) ? Infinity : readLength(low);
  },
  write: exactly,
  show: exactly,
};

function high(value) {
  const [size, name] = feet ? unitFor(value) : [1, "m"], number = value / size;
  return `${short(number)} ${name}`;
}

export const heightKind = {
  read: (text) => readLength(text),
  write: high,
  show: high,
};

export const pitchKind = {
  read(text) {
    const found = number.exec(text);
    if (!found) return null;
    return /up|-|−/.test(text) ? -plain(found[1]) : plain(found[1]);
  },
  write: (value) => (Number(short(value)) === 0 ? "0" : `${value > 0 ? "down" : "up"} ${short(Math.abs(value))}`),
  show: (value) => (Number(short(value)) === 0 ? "level" : `${value > 0 ? "down" : "up"} ${short(Math.abs(value))}°`),
};

export const headingKind = {
  read(text) {
    const found = number.exec(text);
    return found ? plain(found[1]) % 360 : null;
  },
  write: (value) => short((value + 360) % 360, 1),
  show: (value) => `${short((value + 360) % 360, 1)}°`,
};

export const capital = (text) => `${text[0].toUpperCase()}${text.slice(1)}`;

export const tied = (text) => text.replace(/(\d) (?=(?:m|mm|km|cm|ft|in|mi|px|s|°|%|of 100|points?)(?![a-z]))/g, "$1\u00a0");

export const spotWords = (x, y) => `${short(100 * x)}%,${short(100 * y)}%`;
