// What a page can be asked about itself. Evaluated as it stands: an object of functions.
(() => {
  const told = (each) =>
    [each.tagName, each.id || each.name || "", (each.ariaLabel ?? each.textContent).trim().slice(0, 40)].join(" ");

  /** Whether something within the page, and not the page itself, scrolls or clips an element. */
  const scrolls = (each) =>
    Boolean(each) &&
    each !== document.documentElement &&
    (getComputedStyle(each).overflowX !== "visible" || scrolls(each.parentElement));

  const outlined = (each) => {
    const style = getComputedStyle(each);
    return style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  };

  const CONTROLS =
    "a[href], area[href], button, input, select, textarea, summary, [tabindex], [contenteditable=''], [contenteditable=true]";
  const SHAPES = ["path", "circle", "ellipse", "rect", "line", "polyline", "polygon", "text", "stop"]
    .map((name) => `svg ${name}`).join(", ");
  const TONES = ["paper", "sheet", "deep", "ink", "soft", "line", "edge", "accent", "on-accent", "wash", "skin", "bone",
    "cartilage", "tendon", "shade"].map((name) => `--${name}`);

  const WIDGETS = ["radiogroup", "toolbar", "tablist", "grid", "listbox", "menu", "menubar", "tree"]
    .map((role) => `[role=${role}]`).join(", ");

  const works = (each) =>
    !each.disabled && each.type !== "hidden" && !each.closest("[inert]") &&
    each.checkVisibility({ visibilityProperty: true }) &&
    (each.tabIndex >= 0 || each.matches(":is(button, input, select, textarea)")) &&
    (each.tagName !== "SUMMARY" || each.parentElement.firstElementChild === each);

  // Where arrow keys lead on from one to the next, all count as one: radio buttons of a name, and whatever has
  // its own tab stop taken away inside a widget that moves the focus itself.
  const groupOf = (each) => {
    if (each.type === "radio") return `${[...document.forms].indexOf(each.form)} ${each.name}`;
    return each.closest(WIDGETS)?.querySelector("[tabindex='-1']") ? each.closest(WIDGETS) : each;
  };

  /** Number what can be worked, group by group, and return a name for each. */
  const number = () => {
    const groups = new Map();
    const names = [];
    for (const each of document.querySelectorAll(CONTROLS)) {
      delete each.dataset.stop;
      if (!works(each)) continue;
      const group = groupOf(each);
      if (!groups.has(group)) { groups.set(group, groups.size); names.push(told(each)); }
      each.dataset.stop = groups.get(group);
    }
    return names;
  };

  /** What has the focus; null when it is on nothing. A page that drew itself anew is numbered anew. */
  const focused = () => {
    const each = document.activeElement;
    if (!each || each === document.body) return null;
    if (each.dataset.stop === undefined) number();
    const { left, right, top, bottom } = each.getBoundingClientRect();
    return {
      stop: each.dataset.stop === undefined ? null : Number(each.dataset.stop),
      told: told(each),
      seen: outlined(each) || [...(each.labels ?? [])].some(outlined),
      inView: bottom > 0 && right > 0 && top < innerHeight && left < innerWidth,
    };
  };

  // What the colours of a text are judged by: its own, its size, and whatever lies behind it up to the page.
  // Where a box floats over others, that cannot be told from its ancestors, and each counts as another.
  const behind = new Map();
  const behindOf = (each) => {
    if (!each) return "";
    if (!behind.has(each)) {
      const { color, backgroundColor, backgroundImage, opacity, filter, mixBlendMode, position } = getComputedStyle(each);
      const own = [color, backgroundColor, backgroundImage, opacity, filter, mixBlendMode].join(" ");
      const floats = position === "absolute" || position === "fixed";
      const under = floats ? `${behind.size}` : behindOf(each.parentElement);
      behind.set(each, under.endsWith(own) ? under : `${under} / ${own}`);
    }
    return behind.get(each);
  };
  const lookOf = (each) => {
    const { fontSize, fontWeight, textShadow, textDecorationLine, display } = getComputedStyle(each);
    return [each.tagName, fontSize, fontWeight, textShadow, textDecorationLine, display, behindOf(each)].join(" | ");
  };
  const isRead = (each) => each.matches("input, select, textarea") ||
    [...each.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());

  let walk = null; // since the first press
  const note = () => {
    const at = walk.ends ? null : focused();
    walk.ends ||= !at || (at.stop === 0 && walk.steps.length > 0);
    if (!walk.ends) walk.steps.push(at);
  };

  return {
    /** What makes the page scroll sideways; nothing when it does not. */
    tooWide() {
      const width = document.documentElement.clientWidth;
      if (document.documentElement.scrollWidth <= width) return [];
      return [...document.body.querySelectorAll("*")]
        .filter((each) => each.getBoundingClientRect().right > width + 1 && !scrolls(each.parentElement))
        .map(told);
    },

    /** Fields to type into whose letters are so small that phones enlarge the page for them; nothing when none is. */
    smallFields() {
      const TYPED = "input:not([type=radio], [type=checkbox], [type=hidden], [type=file], [type=image]), select, textarea";
      return [...document.querySelectorAll(TYPED)]
        .filter((each) => each.checkVisibility({ visibilityProperty: true }) && parseFloat(getComputedStyle(each).fontSize) < 16)
        .map(told);
    },

    /** Shapes of drawings painted in a colour that is none of the room's; nothing when there is none. */
    strangeTones() {
      const tone = (name) => {
        const probe = document.body.appendChild(document.createElement("i"));
        probe.style.color = `var(${name})`;
        const found = getComputedStyle(probe).color;
        probe.remove();
        return found;
      };
      const own = new Set(TONES.map(tone));
      const strange = (each) => {
        const style = getComputedStyle(each);
        if (each.matches("stop")) return own.has(style.stopColor) ? [] : [`stop ${style.stopColor}`];
        const { width, height } = each.getBBox();
        const fill = width && height ? style.fill : "none"; // a line has nothing to fill
        return [fill, style.stroke].filter((each) => /^rgb/.test(each) && !own.has(each));
      };
      return [...document.querySelectorAll(SHAPES)]
        .filter((each) => each.matches("stop") || (!each.closest("defs, clipPath") && each.checkVisibility()))
        .flatMap((each) => strange(each).map((colour) => `${told(each)} ${each.outerHTML.slice(0, 90)}: ${colour}`));
    },

    /** One text of every look, the first that is shown. */
    looks() {
      behind.clear();
      const found = new Map();
      for (const each of document.body.querySelectorAll("*")) {
        if (!isRead(each) || !each.checkVisibility({ visibilityProperty: true })) continue;
        const look = lookOf(each);
        if (!found.has(look)) found.set(look, each);
      }
      return [...found.values()];
    },

    number,

    /** Note, whenever Tab is pressed, where the press before it has led. */
    follow() {
      addEventListener("keydown", (event) => {
        if (event.key !== "Tab") return;
        if (walk) note();
        walk ??= { steps: [], ends: false };
      }, true);
    },

    /** What had the focus, one after the other; null while Tab has led neither off the page nor to its top. */
    steps() {
      note();
      return walk.ends ? walk.steps : null;
    },
  };
})()
