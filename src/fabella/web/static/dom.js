// Elements in one line each, and the marks that tell outcomes by shape.

const SVG = "http:" + "//www.w3.org/2000/svg";

/** Make an element: `on…` are listeners, `text` is its text, `data` its data attributes, the rest attributes. */
export function h(tag, props = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "text") made.textContent = value;
    else if (name === "data") Object.assign(made.dataset, value);
    else made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.filter((each) => each !== null && each !== undefined));
  return made;
}

const SHAPES = {
  normal: ["circle", { cx: 6, cy: 6, r: 4 }],
  abnormal: ["path", { d: "M6 .8 11.2 6 6 11.2 .8 6Z" }],
  untestable: ["path", { d: "M2 2l8 8M10 2l-8 8" }],
  recorded: ["path", { d: "M2 2h8v8H2Z" }],
  unexamined: ["path", { d: "M2 6h8" }],
};

/** A mark for an outcome: ring, lozenge, cross, square, dash. */
export function mark(kind) {
  const svg = document.createElementNS(SVG, "svg");
  const [tag, attributes] = SHAPES[kind] ?? SHAPES.unexamined;
  const shape = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) shape.setAttribute(name, value);
  svg.setAttribute("class", `mark ${kind}`);
  svg.setAttribute("viewBox", "0 0 12 12");
  svg.setAttribute("aria-hidden", "true");
  svg.append(shape);
  return svg;
}

/** How far a position is: an empty ring, a ring half filled, a full one. */
export function fullness(how) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("class", `fullness ${how}`);
  svg.setAttribute("viewBox", "0 0 14 14");
  svg.setAttribute("aria-hidden", "true");
  const ring = document.createElementNS(SVG, "circle");
  for (const [name, value] of [["cx", 7], ["cy", 7], ["r", 5.5]]) ring.setAttribute(name, value);
  svg.append(ring);
  if (how === "away") {
    const line = document.createElementNS(SVG, "path");
    line.setAttribute("d", "M3.2 10.8 10.8 3.2");
    svg.append(line);
  } else if (how !== "none") {
    const fill = document.createElementNS(SVG, "path");
    fill.setAttribute("class", "fill");
    fill.setAttribute("d", how === "part" ? "M7 1.5a5.5 5.5 0 0 0 0 11Z" : "M3.8 7.2 6.2 9.6 10.4 4.6");
    svg.append(fill);
  }
  return svg;
}
