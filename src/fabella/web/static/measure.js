// Pointing at landmarks on a picture: by touch, by mouse or by the arrow keys, under a loupe; the server says what they come to.

import { h } from "./dom.js";

const SETTLED = 120; // milliseconds after which a point that rests is asked about
const WIDE = 26, TIGHT = 7; // pixels on the screen from which a point is held; tight while another is still to be set near it
const LOUPE = 132, ENLARGED = 3; // pixels on the screen across, and how much larger a pixel of the screen is under it
const form = document.getElementById("pointing"), stage = document.getElementById("stage");
const [width, height] = ["width", "height"].map((name) => Number(form.elements[name].value));
const picture = h("img", { src: stage.querySelector("input").src, alt: "The picture that is measured on", draggable: "false" });
const loupe = h("canvas", { class: "loupe", width: LOUPE, height: LOUPE, "aria-hidden": "true", hidden: true });
const within = (value, most) => Math.min(Math.max(value, 0), most);

/** One landmark: its line in the list, its field, and its point on the picture once it has one. */
class Landmark {
  constructor(line, number) {
    this.line = line;
    this.number = number;
    this.field = line.querySelector("input");
    this.button = line.querySelector("button");
    this.name = line.querySelector("b").textContent;
    this.button.type = "button";
    this.button.addEventListener("click", ({ detail }) => this.#called(detail === 0));
    this.point = h("button", { type: "button", class: "point", hidden: true }, h("span", { text: number }));
    this.point.addEventListener("keydown", (event) => this.#pressed(event));
    this.point.addEventListener("focus", () => aimAt(this));
    this.point.addEventListener("blur", () => { loupe.hidden = true; });
    stage.append(this.point);
    this.show();
  }

  get place() { return this.field.value ? this.field.value.split(",").map(Number) : null; }

  set(x, y) {
    this.field.value = `${within(x, width).toFixed(1)},${within(y, height).toFixed(1)}`;
    this.show();
    changed();
  }

  show() {
    const at = this.place;
    this.point.hidden = !at;
    this.button.textContent = at ? "Move" : "Point";
    this.button.setAttribute("aria-label", `${at ? "Move" : "Point at"} ${this.name}`);
    if (!at) return;
    this.point.style.left = `${(at[0] / width) * 100}%`;
    this.point.style.top = `${(at[1] / height) * 100}%`;
    this.point.setAttribute("aria-label", `${this.name}, ${Math.round(at[0])} across, ${Math.round(at[1])} down`);
  }

  #called(byKey) {
    aimAt(this);
    if (byKey && !this.place) this.set(width / 2, height / 2);
    if (byKey) this.point.focus();
    else stage.scrollIntoView({ block: "nearest" });
  }

  #pressed(event) {
    const step = event.shiftKey ? 10 : 1;
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] }[event.key];
    if (!by) return;
    event.preventDefault();
    const [x, y] = this.place;
    this.set(x + by[0], y + by[1]);
    enlarge(this);
  }
}

let aim = null, asked = null, waiting = 0;
stage.querySelector("input").replaceWith(picture);
stage.querySelector(".dots").remove();
const landmarks = [...form.querySelectorAll("[data-landmark]")].map((line, place) => new Landmark(line, place + 1));
stage.append(loupe);
stage.classList.add("live");
form.querySelector(".keys").hidden = false;

function aimAt(landmark) {
  aim = landmark;
  for (const each of landmarks) {
    each.line.classList.toggle("next", each === landmark);
    each.point.classList.toggle("aimed", each === landmark);
  }
}
const aimAtNext = () => aimAt(landmarks.find((each) => !each.place) ?? null);

// ------------------------------------------------------------------ by touch and by mouse

const placeOf = (event) => {
  const box = picture.getBoundingClientRect();
  return [((event.clientX - box.left) / box.width) * width, ((event.clientY - box.top) / box.height) * height];
};

/** The point that lies nearest, within so many pixels of the screen. */
function reached(x, y, within) {
  const scale = picture.clientWidth / width, away = (each) => Math.hypot(each.place[0] - x, each.place[1] - y) * scale;
  const near = landmarks.filter((each) => each.place && away(each) <= within).sort((one, other) => away(one) - away(other));
  return near[0] ?? null;
}

stage.addEventListener("pointerdown", (event) => {
  if (event.button) return;
  const [x, y] = placeOf(event), meant = reached(x, y, aim && !aim.place ? TIGHT : WIDE), held = meant ?? aim;
  if (!held) return;
  event.preventDefault();
  const grabbed = meant ? held.place : [x, y];
  const off = [grabbed[0] - x, grabbed[1] - y]; // a point that is held does not jump under the finger
  stage.setPointerCapture(event.pointerId);
  const follow = (moved) => {
    const [across, down] = placeOf(moved);
    held.set(across + off[0], down + off[1]);
    enlarge(held);
  };
  const end = () => {
    stage.removeEventListener("pointermove", follow);
    for (const kind of ["pointerup", "pointercancel"]) stage.removeEventListener(kind, end);
    loupe.hidden = true;
    aimAtNext();
  };
  aimAt(held);
  follow(event);
  stage.addEventListener("pointermove", follow);
  for (const kind of ["pointerup", "pointercancel"]) stage.addEventListener(kind, end);
});

/** Show what lies under a point, enlarged, in the corner of the picture that is farther away. */
function enlarge(landmark) {
  const [x, y] = landmark.place, ink = loupe.getContext("2d"), style = getComputedStyle(document.documentElement);
  const across = (LOUPE / ENLARGED) * (width / picture.clientWidth);
  ink.fillStyle = style.getPropertyValue("--deep");
  ink.fillRect(0, 0, LOUPE, LOUPE);
  ink.drawImage(picture, x - across / 2, y - across / 2, across, across, 0, 0, LOUPE, LOUPE);
  const middle = LOUPE / 2;
  for (const [colour, wide] of [[style.getPropertyValue("--sheet"), 3], [style.getPropertyValue("--accent"), 1]]) {
    ink.strokeStyle = colour;
    ink.lineWidth = wide;
    ink.beginPath();
    for (const [from, to] of [[6, middle - 6], [middle + 6, LOUPE - 6]]) {
      ink.moveTo(from, middle); ink.lineTo(to, middle);
      ink.moveTo(middle, from); ink.lineTo(middle, to);
    }
    ink.stroke();
  }
  loupe.classList.toggle("right", x < width / 2);
  loupe.hidden = false;
}

// ------------------------------------------------------------------ what it comes to

function changed() {
  clearTimeout(waiting);
  if (landmarks.every((each) => each.place)) waiting = setTimeout(ask, SETTLED);
}

async function ask() {
  asked?.abort();
  asked = new AbortController();
  const sent = new FormData(form);
  sent.delete("picture"); // it stays here
  try {
    const answer = await fetch(form.dataset.now, { method: "POST", body: sent, cache: "no-store", signal: asked.signal });
    if (!answer.ok) throw new Error(String(answer.status));
    const part = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of ["over", "reading"]) document.getElementById(id).replaceWith(document.adoptNode(part.getElementById(id)));
  } catch (error) {
    if (error.name !== "AbortError") document.getElementById("reading").replaceChildren(h("p", { class: "problems", text: "The value cannot be asked for just now. The points stay; move one to ask again." }));
  }
}

form.addEventListener("change", ({ target }) => { if (target.name === "mirrored") changed(); });
aimAtNext();
document.documentElement.dataset.ready = "yes";
