// Where the camera stands and what the picture shows: height, horizon, what took it.

import { Hands, PLACE_RINGS, WALK_RINGS, choice, field, group } from "./hands.js";
import { button, make } from "./dialog.js";
import { buildFinds } from "./finds.js";
import * as shot from "./state.js";
import { headingKind, heightKind, short } from "./words.js";

/** Fill the strip "Place"; `turn` writes values of the shot. */
export function buildPlace(home, turn, depth) {
  const note = document.createElement("p");
  note.className = "field hint";
  const noteAway = button("It is right as guessed", shot.confirmGuesses);
  noteAway.className = "wide";
  home.append(note, noteAway);
  const stand = group(home, "Where you stand");
  const hands = new Hands(stand, PLACE_RINGS, (name, words) => {
    turn(name === "pitch" ? { pitch: words, horizon: null } : { [name]: words });
  });
  const walk = document.createElement("div");
  stand.append(walk);
  const walking = new Hands(walk, WALK_RINGS, (name, words) => turn(name === "heading" ? { heading: words, "look-at": null } : { [name]: words }));
  const dragHint = make("p", "Drag the picture: sideways walks round the subject, up and down changes the height. The wheel changes the distance.", "hint");
  walk.append(dragHint);
  const fields = [
    field(stand, { name: "roll", label: "Leaning clockwise, degrees", empty: "0", turned: (text) => turn({ roll: text }) }),
  ];
  const seeDepth = button("Show the depth", depth);
  seeDepth.style.marginTop = "8px";
  seeDepth.className = "wide";
  const how = make("p", "", "hint");
  stand.append(seeDepth, how);
  const found = buildFinds(home, turn);
  const file = group(home, "A depth file", "Drop one beside the picture: NPY, NPZ, PFM, 16-bit PNG or float TIFF, as large as the picture.");
  const fileName = make("p", "");
  const fileAway = button("Take the depth file away", () => turn({ depth: null, "depth-kind": null, "depth-scale": null }));
  fileAway.className = "wide";
  file.append(fileName);
  const kind = choice(file, {
    name: "depth-kind",
    label: "Its numbers are",
    options: [["", "as the file says"], ["metres", "metres"], ["millimetres", "millimetres"], ["inverse", "1 / metres"], ["disparity", "disparity"], ["ray", "metres along the ray"]],
    turned: (text) => turn({ "depth-kind": text }),
  });
  const scale = field(file, { name: "depth-scale", label: "Metres for each step", empty: "as the file says", turned: (text) => turn({ "depth-scale": text }) });
  file.append(fileAway);
  const taken = group(home, "What took the picture", "Asked of the file; write it where the file does not know.");
  fields.push(
    field(taken, { name: "focal-35", label: "Focal length, 35 mm equivalent", empty: "from the file", turned: (text) => turn({ "focal-35": text }) }),
    field(taken, { name: "focal", label: "Focal length", empty: "from the file", turned: (text) => turn({ focal: text }) }),
    field(taken, { name: "sensor", label: "Its sensor", empty: "from the file", turned: (text) => turn({ sensor: text }) }),
    field(taken, { name: "view", label: "Or: sees so many degrees across", turned: (text) => turn({ view: text }) }),
    field(taken, { name: "lift-highlights", label: "Lift clipped lamps and glints, stops", empty: "0", turned: (text) => turn({ "lift-highlights": text }) }),
  );
  const plan = group(home, "The planned camera");
  fields.push(
    field(plan, { name: "format", label: "Sensor", empty: "36x24", turned: (text) => turn({ format: text }) }),
    field(plan, { name: "blades", label: "Blades of the iris", empty: "a disc", turned: (text) => turn({ blades: text }) }),
  );
  const names = ["roll", "focal-35", "focal", "sensor", "view", "lift-highlights", "format", "blades"];

  return {
    follow({ picture, values }, told) {
      hands.follow(values, told);
      fields.forEach((one, at) => one.follow(values[names[at]]));
      walking.follow(values, told);
      found.follow(picture, values);
      taken.hidden = file.hidden = fields[0].row.hidden = !picture;
      walk.hidden = Boolean(picture);
      const depthOpen = Boolean(values.depth);
      fileName.textContent = depthOpen ? `Open: ${shot.state.seen.names?.[values.depth] ?? "a depth file"}` : "";
      for (const part of [fileName, kind.row, scale.row, fileAway]) part.hidden = !depthOpen;
      kind.follow(values["depth-kind"]);
      scale.follow(values["depth-scale"]);
      seeDepth.setAttribute("aria-pressed", Boolean(shot.state.seen.depth));
      how.textContent = told ? `${told.depth[0].toUpperCase()}${told.depth.slice(1)}.` : "";
      const guessed = shot.guesses();
      note.textContent = guessed.length
        ? `Not known from the file and only guessed so far: ${guessed.join(", ")}. Put the height right, and drag the horizon to where level ground would end.`
        : "";
      note.hidden = noteAway.hidden = !note.textContent;
    },
    click: (at) => found.click(at),
    marks: () => found.marks(),
    redraw() {
      hands.redraw();
      walking.redraw();
    },
    /** A demo scene is walked round by dragging its picture. */
    walk(from, told) {
      const start = { heading: told.heading, height: told.height };
      return {
        begin: shot.hold,
        move({ x, y }) {
          turn({ "look-at": null, heading: headingKind.write(start.heading - 90 * (x - from.x)), height: heightKind.write(Math.max(0.5, start.height * 2 ** (2 * (y - from.y)))) });
        },
        end: shot.release,
      };
    },
    stride(by, told) {
      if (told.distance === null) return; // on a map the camera stands where it was put
      turn({ distance: heightKind.write(Math.min(1000, Math.max(1, told.distance * 1.06 ** by))) });
    },
    /** The horizon can be taken hold of. */
    grip(at, reach, size, told) {
      const drawn = found.grip(at);
      if (drawn) return drawn;
      if (told.horizon === null || Math.abs(at.y - told.horizon) * size.height > reach) return null;
      return {
        begin: shot.hold,
        move: ({ y }) => turn({ horizon: `${short(100 * y, 1)}%`, pitch: null }),
        end: shot.release,
      };
    },
  };
}
