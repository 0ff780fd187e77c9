// Values of a shot as words, and the numbers a hand turns. No optics here.

const SIDES = { tilt: ["down", "up"], swing: ["right", "left"], rise: ["up", "down"], shift: ["right", "left"] };
const UNITS = { tilt: "°", swing: "°", rise: " mm", shift: " mm" };
export const STOPS = ["1", "1.1", "1.2", "1.4", "1.6", "1.8", "2", "2.2", "2.5", "2.8", "3.2", "3.5", "4", "4.5", "5", "5.6", "6.3", "7.1", "8", "9", "10", "11", "13", "14", "16", "18", "20", "22", "25", "29", "32"];

export const short = (value, digits = 2) => String(Number(value.toFixed(digits)));

const number = /(\d+(?:[.,]\d*)?|[.,]\d+)/;
const plain = (text) => Number(text.replace(",", "."));

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
    fault: `write "${SIDES[name][0]} 3", "${SIDES[name][1]} 3" or 0`,
  };
}

/** A number above 0, alone or with one of `units` behind; anything else is refused. */
function readPositive(text, units = {}) {
  const found = /^\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*([a-z′″'"]*)\s*$/i.exec(text.trim());
  if (!found) return null;
  const unit = found[2].toLowerCase(), each = unit === "" ? 1 : units[unit];
  const value = each === undefined ? 0 : plain(found[1]) * each;
  return value > 0 ? value : null;
}

const named = (size, names) => Object.fromEntries(names.split(" ").map((name) => [name, size]));
/** Metres in one of each; a storey is 3 m. */
const LENGTHS = {
  ...named(1, "m metre metres"), ...named(1000, "km"), ...named(0.01, "cm"),
  ...named(0.3048, "ft foot feet ′ '"), ...named(0.0254, "in inch inches ″ \""), ...named(0.9144, "yd yard yards"),
  ...named(3, "storey storeys story stories floor floors"),
};
const MILLIMETRES = named(1, "mm");
const UNIT_WORDS = "metres, or with km, cm, ft, in, yd";

export const stopKind = {
  read: (text) => readPositive(text.trim().replace(/^f\s*\/?/i, "")),
  write: (value) => nearestStop(value) ?? short(value),
  show: (value) => `f/${nearestStop(value) ?? short(value)}`,
  fault: "write a number above 0, such as 2.8",
};

function nearestStop(value) {
  const third = Math.round(6 * Math.log2(value));
  const exact = 2 ** (third / 6);
  const marked = STOPS[third];
  return marked && (Math.abs(value / exact - 1) < 0.004 || Number(marked) === Number(short(value))) ? marked : null;
}

export const lensKind = {
  read: (text) => readPositive(text, MILLIMETRES),
  write: (value) => short(value, 1),
  show: (value) => `${short(value, 1)} mm`,
  fault: "write millimetres, such as 45",
};

/** A distance as it is said: no more digits than it deserves. */
export function metres(value) {
  if (!Number.isFinite(value) || value >= 1e5) return "infinity";
  if (value >= 1000) return `${Number((value / 1000).toPrecision(2))}\u00a0km`;
  return `${value >= 100 ? Math.round(value) : Number(value.toPrecision(value < 1 ? 2 : 3))}\u00a0m`;
}

/** A distance as it is set, to the centimetre. */
const exactly = (value) => (Number.isFinite(value) && value < 1e5 ? `${short(value, value < 10 ? 2 : value < 100 ? 1 : 0)} m` : "infinity");

export const distanceKind = {
  read(text) {
    const low = text.trim().toLowerCase();
    return /^(inf(inity)?|∞)$/.test(low) ? Infinity : readPositive(low, LENGTHS);
  },
  write: exactly,
  show: exactly,
  fault: `write ${UNIT_WORDS}: "18 m", "40 ft", or "infinity"`,
};

export const heightKind = {
  read: (text) => readPositive(text, LENGTHS),
  write: (value) => `${short(value, value < 10 ? 2 : 1)} m`,
  show: (value) => `${short(value, value < 10 ? 2 : 1)} m`,
  fault: `write ${UNIT_WORDS} or storeys: "12 m", "40 ft", "4 storeys"`,
};

export const pitchKind = {
  read(text) {
    const found = number.exec(text);
    if (!found) return null;
    return /up|-|−/.test(text) ? -plain(found[1]) : plain(found[1]);
  },
  write: (value) => (Number(short(value, 1)) === 0 ? "0" : `${value > 0 ? "down" : "up"} ${short(Math.abs(value), 1)}`),
  show: (value) => (Number(short(value, 1)) === 0 ? "level" : `${value > 0 ? "down" : "up"} ${short(Math.abs(value), 1)}°`),
  fault: 'write degrees, such as "down 12", "up 3" or 0',
};

export const headingKind = {
  read(text) {
    const found = number.exec(text);
    return found ? plain(found[1]) % 360 : null;
  },
  write: (value) => short((value + 360) % 360, 1),
  show: (value) => `${short((value + 360) % 360, 1)}°`,
  fault: "write degrees of the compass, 0 to 360",
};

/** A number stays beside its unit at the end of a line. */
export const tied = (text) => text.replace(/(\d) (?=(?:m|mm|km|cm|px|s|°|%|of 100|points?)(?![a-z]))/g, "$1\u00a0");

/** A spot of the whole picture, shares 0..1, as a focus in words. */
export const spotWords = (x, y) => `${short(100 * x)}%,${short(100 * y)}%`;
