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

/** Make an element of a drawing. */
export function svg(tag, attributes, ...children) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

/** A mark for an outcome: ring, lozenge, cross, square, dash. */
export function mark(kind) {
  return svg("svg", { class: `mark ${kind}`, viewBox: "0 0 12 12", "aria-hidden": "true" }, svg(...(SHAPES[kind] ?? SHAPES.unexamined)));
}

const INSIDE = {
  away: { d: "M3.2 10.8 10.8 3.2" },
  part: { class: "fill", d: "M7 1.5a5.5 5.5 0 0 0 0 11Z" },
  full: { class: "fill", d: "M3.8 7.2 6.2 9.6 10.4 4.6" },
};

/** How far a position is: an empty ring, a ring half filled, a full one; or a ring struck through. */
export function fullness(how) {
  const ring = svg("circle", { cx: 7, cy: 7, r: 5.5 }), inside = how in INSIDE ? [svg("path", INSIDE[how])] : [];
  return svg("svg", { class: `fullness ${how}`, viewBox: "0 0 14 14", "aria-hidden": "true" }, ring, ...inside);
}
