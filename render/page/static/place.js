// Where the camera stands and what the picture shows: height, horizon, what took it.

import { Hands, PLACE_RINGS, field, group } from "./hands.js";
import { button, make } from "./dialog.js";
import * as shot from "./state.js";
import { short } from "./words.js";

/** Fill the strip "Place"; `turn` writes values of the shot. */
export function buildPlace(home, turn, depth) {
  const note = document.createElement("p");
  note.className = "field hint";
  home.append(note);
  const stand = group(home, "Where you stand");
  const hands = new Hands(stand, PLACE_RINGS, (name, words) => {
    turn(name === "pitch" ? { pitch: words, horizon: null } : { [name]: words });
  });
  const fields = [
    field(stand, { name: "roll", label: "Leaning clockwise, degrees", empty: "0", turned: (text) => turn({ roll: text }) }),
  ];
  const seeDepth = button("Show the depth", depth);
  seeDepth.style.marginTop = "8px";
  seeDepth.className = "wide";
  const how = make("p", "", "hint");
  stand.append(seeDepth, how);
  const taken = group(home, "What took the picture", "Asked of the file; write it where the file does not know.");
  fields.push(
    field(taken, { name: "focal-35", label: "Focal length, 35 mm equivalent", empty: "from the file", turned: (text) => turn({ "focal-35": text }) }),
    field(taken, { name: "focal", label: "Focal length", empty: "from the file", turned: (text) => turn({ focal: text }) }),
    field(taken, { name: "sensor", label: "Its sensor", empty: "from the file", turned: (text) => turn({ sensor: text }) }),
    field(taken, { name: "view", label: "Or: sees so many degrees across", turned: (text) => turn({ view: text }) }),
  );
  const plan = group(home, "The planned camera");
  fields.push(
    field(plan, { name: "format", label: "Sensor", empty: "36x24", turned: (text) => turn({ format: text }) }),
    field(plan, { name: "blades", label: "Blades of the iris", empty: "a disc", turned: (text) => turn({ blades: text }) }),
  );
  const names = ["roll", "focal-35", "focal", "sensor", "view", "format", "blades"];

  return {
    follow({ picture, values }, told) {
      hands.follow(values, told);
      fields.forEach((one, at) => one.follow(values[names[at]]));
      taken.hidden = !picture;
      seeDepth.setAttribute("aria-pressed", Boolean(shot.state.seen.depth));
      how.textContent = told ? `${told.depth[0].toUpperCase()}${told.depth.slice(1)}.` : "";
      const guessed = (shot.state.seen.guessed ?? []).filter((name) => name in values);
      note.textContent = guessed.length && picture
        ? "Not known from the file and only guessed so far: put the height right, and drag the horizon to where level ground would end."
        : "";
      note.hidden = !note.textContent;
    },
    redraw: () => hands.redraw(),
    /** The horizon can be taken hold of. */
    grip(at, reach, size, told) {
      if (Math.abs(at.y - told.horizon) * size.height > reach) return null;
      return {
        begin: shot.hold,
        move: ({ y }) => turn({ horizon: `${short(100 * y, 1)}%`, pitch: null }),
        end: shot.release,
      };
    },
  };
}
