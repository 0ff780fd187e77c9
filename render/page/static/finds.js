// What is known of things in the picture: distances, standing things, walls, sky.

import { button, make, openDialog } from "./dialog.js";
import { choice, group } from "./hands.js";
import * as shot from "./state.js";
import { boxMark, draw, plate } from "./view.js";
import { short, spotWords } from "./words.js";

const TOOLS = [
  ["mark", "Known distance", "Click a spot whose distance you know."],
  ["thing", "Standing thing", "Click something that stands on the ground, or draw a box round it."],
  ["wall", "Wall", "Draw along the foot of a wall, from end to end."],
];

export function buildFinds(home, turn) {
  const section = group(home, "What stands there");
  const tools = make("div", "", "tools");
  const hint = make("p", "", "hint");
  const list = make("ul", "", "list");
  let tool = "", drawing = null, values = {};
  const presses = TOOLS.map(([name, words, about]) => {
    const press = button(words, () => {
      tool = tool === name ? "" : name;
      hint.textContent = tool ? about : "";
      show();
    });
    press.dataset.tool = name;
    return press;
  });
  tools.append(...presses);
  section.append(tools, hint, list);
  const sky = choice(section, {
    name: "sky",
    label: "The sky",
    options: [["", "by the horizon"], ["top", "by its colour"], ["none", "none"]],
    turned: (text) => turn({ sky: text }),
  });

  const all = (name) => values[name] ?? [];
  const add = (name, text) => turn({ [name]: [...all(name), text] });

  function show() {
    for (const press of presses) press.setAttribute("aria-pressed", press.dataset.tool === tool);
    list.replaceChildren();
    for (const [name, words] of TOOLS) {
      all(name).forEach((text, at) => {
        const item = document.createElement("li");
        const away = button("Remove", () => {
          const rest = all(name).filter((_, other) => other !== at);
          turn({ [name]: rest.length ? rest : null });
        });
        away.setAttribute("aria-label", `Remove ${words} ${at + 1}`);
        item.append(make("span", `${words} ${at + 1}`), make("span", name === "mark" ? text.split(" ").slice(1).join(" ") : "", "muted"), away);
        list.append(item);
      });
    }
  }

  function askDistance(at) {
    const { body, close } = openDialog("How far away is that?");
    const form = document.createElement("form");
    form.innerHTML = `<div class="field"><label for="ask-m">Metres</label><input type="text" id="ask-m" autocomplete="off" inputmode="decimal"></div>
      <div class="field"><label for="ask-how">Measured</label><select id="ask-how"><option value="range">by rangefinder</option><option value="map">on a map</option><option value="">along the camera's axis</option></select></div>`;
    const done = make("button", "Set this distance", "strong wide");
    done.type = "submit";
    form.append(done);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const metres = form.querySelector("input").value.trim();
      close();
      if (metres) add("mark", `${spotWords(at.x, at.y)} ${/[a-z]/.test(metres) ? metres : `${metres} m`} ${form.querySelector("select").value}`.trim());
    });
    body.append(form);
    form.querySelector("input").focus();
  }

  const percent = (share) => `${short(100 * share)}%`;
  const corners = (from, to) => [[Math.min(from.x, to.x), Math.min(from.y, to.y)], [Math.max(from.x, to.x), Math.max(from.y, to.y)]];
  const places = (text) => [...text.matchAll(/(-?[\d.]+)%,(-?[\d.]+)%/g)].map((found) => [found[1] / 100, found[2] / 100]);

  return {
    follow(picture, given) {
      section.hidden = !picture;
      values = given;
      sky.follow(given.sky);
      show();
    },
    click(at) {
      if (tool === "mark") askDistance(at);
      if (tool === "thing") add("thing", `spot ${spotWords(at.x, at.y)}`);
    },
    grip(from) {
      if (tool !== "thing" && tool !== "wall") return null;
      return {
        move(to) { drawing = [from, to]; shot.see({}); },
        end(to) {
          drawing = null;
          if (tool === "wall") add("wall", `${spotWords(from.x, from.y)} ${spotWords(to.x, to.y)}`);
          else add("thing", `box ${corners(from, to).map(([x, y]) => `${percent(x)},${percent(y)}`).join(" ")}`);
        },
      };
    },
    marks() {
      const drawn = [];
      all("mark").forEach((text, at) => {
        const [place] = places(text);
        if (place) drawn.push((svg, width, height) => {
          draw(svg, "circle", { class: "spot", cx: place[0] * width, cy: place[1] * height, r: 5 });
          plate(svg, place[0] * width + 8, place[1] * height - 10, `${at + 1}: ${text.split(" ").slice(1).join(" ")}`, width, height);
        });
      });
      all("thing").forEach((text, at) => {
        const found = places(text);
        if (found.length > 1 && text.startsWith("box")) drawn.push(boxMark([...found[0], ...found[1]], "", `thing ${at + 1}`));
        else if (found.length) drawn.push((svg, width, height) => {
          draw(svg, "circle", { class: "spot", cx: found[0][0] * width, cy: found[0][1] * height, r: 5 });
          plate(svg, found[0][0] * width + 8, found[0][1] * height - 10, `thing ${at + 1}`, width, height);
        });
      });
      const lines = all("wall").map(places);
      if (drawing && tool === "wall") lines.push(drawing.map(({ x, y }) => [x, y]));
      for (const [a, b] of lines) drawn.push((svg, width, height) => {
        for (const kind of ["cased", "bright"]) draw(svg, "path", { class: `mark ${kind}`, d: `M${a[0] * width} ${a[1] * height}L${b[0] * width} ${b[1] * height}` });
      });
      if (drawing && tool === "thing") drawn.push(boxMark(corners(...drawing).flat(), "", "thing"));
      return drawn;
    },
  };
}
