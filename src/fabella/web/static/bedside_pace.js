// Cadence and the two steps from taps at heel strike, with their errors: what fabella.measure.walking_contacts and
// walking_pace compute, here where there may be no connection. A test holds the two against each other.

const DOUBLE_S = 0.25, SHORT = 0.5, LONG = 1.6, BETWEEN = 1.5, ENDS = 2, LEAST_STEPS = 6, OFFSET_S = 0.01;
const FEET = ["right", "left"];
const GRID = Array.from({ length: 50 }, (_, index) => 0.01 * index);
const other = (foot) => (foot === "right" ? "left" : "right");
const at2 = (seconds) => seconds.toFixed(2);
const sum = (values) => values.reduce((all, each) => all + each, 0);

function median(values) {
  const sorted = values.toSorted((a, b) => a - b), half = sorted.length >> 1;
  if (!sorted.length) return Infinity;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/** The steady part of a walk: runs of feet that take turns, and in sentences what was left out. */
export function steady(contacts) {
  const told = [], kept = [];
  for (const each of contacts.toSorted((a, b) => a.at - b.at)) {
    const last = kept.at(-1);
    if (last?.foot === each.foot && each.at - last.at < DOUBLE_S) told.push(`A second ${each.foot} contact at ${at2(each.at)} s was left out as a double.`);
    else kept.push(each);
  }
  const steps = kept.slice(1).map((b, index) => ({ foot: b.foot, turns: b.foot !== kept[index].foot, s: b.at - kept[index].at })).filter(({ turns }) => turns);
  const usual = Object.fromEntries(FEET.map((foot) => [foot, median(steps.filter((each) => each.foot === foot).map(({ s }) => s))]));
  const runs = [];
  let run = kept.slice(0, 1), halted = true;
  const end = (halts) => { runs.push(run.slice(halted ? ENDS : 0, run.length - (halts ? ENDS : 0))); run = []; halted = halts; };
  for (let index = 1; index < kept.length; index += 1) {
    const { says, halts } = fault(kept[index - 1], kept[index], usual);
    if (says) { told.push(says); end(halts); }
    run.push(kept[index]);
  }
  if (kept.length) end(true);
  told.push(`${ENDS} contacts at each end were left out: a walk starts and stops there.`);
  return { runs: runs.filter((each) => each.length > 1), told };
}

function fault(a, b, usual) {
  const apart = b.at - a.at, step = (usual.right + usual.left) / 2;
  const halt = { says: `A halt of ${apart.toFixed(1)} s after ${at2(a.at)} s was left out.`, halts: true };
  if (a.foot === b.foot) {
    if (apart > 2 * LONG * step) return halt;
    if (apart < BETWEEN * step) return { says: `Two ${a.foot} contacts at ${at2(a.at)} and ${at2(b.at)} s are only a step apart, as if one were of the other foot: not counted across.`, halts: false };
    return { says: `The ${other(a.foot)} contact between ${at2(a.at)} and ${at2(b.at)} s is missing: not counted across.`, halts: false };
  }
  if (apart > LONG * usual[b.foot]) return halt;
  if (apart < SHORT * usual[b.foot]) return { says: `The step from ${at2(a.at)} to ${at2(b.at)} s is too short to be one: not counted across.`, halts: false };
  return { says: "", halts: false };
}

/** The pace of a walk of `{ foot, at }` in seconds; `steps` alone, and what was left out, while they are too few. */
export function pace(contacts) {
  const { runs, told } = steady(contacts);
  const walks = runs.map((run) => run.slice(1).map((each, index) => ({ foot: each.foot, s: each.at - run[index].at })));
  const steps = walks.flat(), n = steps.length, of = (foot) => steps.filter((each) => each.foot === foot);
  if (n < LEAST_STEPS || FEET.some((foot) => !of(foot).length)) return { steps: n, told };
  const fits = fitted(walks, n);
  const error = (weigh, offset) => {
    const weights = walks.map((walk) => walk.map(({ foot }) => weigh(foot)));
    const own = sum(weights.flat().map((each) => each ** 2));
    const readings = sum(weights.flatMap((run) => [...run, 0].map((each, index) => (each - (run[index - 1] ?? 0)) ** 2)));
    return Math.sqrt(sum(fits.map(({ weight, share, variance }) => weight * (variance * ((1 - 2 * share) * own + share * readings) + offset ** 2))));
  };
  const mean = (each) => sum(each.map(({ s }) => s)) / each.length;
  const [right, left] = FEET.map((foot) => mean(of(foot))), step = mean(steps), [ofRight, ofLeft] = FEET.map((foot) => of(foot).length);
  return {
    steps: n, told, right, left,
    cadence: 60 / step, cadenceError: (60 * error(() => 1 / n, 0)) / step ** 2,
    difference: right - left, differenceError: error((foot) => (foot === "right" ? 1 / ofRight : -1 / ofLeft), 2 * OFFSET_S),
    asymmetry: (100 * (right - left)) / step,
  };
}

/** How well each share of jitter explains the steps (restricted likelihood), and the variance of a step with it. */
function fitted(walks, n) {
  const logs = [], variances = [];
  for (const share of GRID) {
    let rr = 0, rl = 0, ll = 0, r = 0, l = 0, square = 0, logDet = 0;
    for (const walk of walks) {
      const pivots = [];
      for (const _ of walk) pivots.push(pivots.length ? 1 - share ** 2 / pivots.at(-1) : 1);
      logDet += sum(pivots.map(Math.log));
      const isRight = walk.map(({ foot }) => Number(foot === "right")), isLeft = isRight.map((each) => 1 - each), s = walk.map((each) => each.s);
      const right = solved(pivots, share, isRight), left = solved(pivots, share, isLeft), times = solved(pivots, share, s);
      const dot = (a, b) => sum(a.map((each, index) => each * b[index]));
      rr += dot(isRight, right); rl += dot(isRight, left); ll += dot(isLeft, left);
      r += dot(isRight, times); l += dot(isLeft, times); square += dot(s, times);
    }
    const det = rr * ll - rl ** 2;
    const rest = Math.max(square - (r * r * ll - 2 * r * l * rl + l * l * rr) / det, 1e-12);
    variances.push(rest / (n - 2));
    logs.push(-0.5 * ((n - 2) * Math.log(rest) + logDet + Math.log(det)));
  }
  const most = Math.max(...logs), likely = logs.map((each) => Math.exp(each - most)), all = sum(likely);
  return GRID.map((share, index) => ({ share, variance: variances[index], weight: likely[index] / all }));
}

/** Solve for steps of which neighbours are correlated by minus `share`. */
function solved(pivots, share, values) {
  const out = [];
  for (const [index, value] of values.entries()) out.push(index ? value + (share / pivots[index - 1]) * out[index - 1] : value);
  for (let index = out.length - 1; index >= 0; index -= 1) out[index] = out[index] / pivots[index] + (index + 1 < out.length ? (share / pivots[index]) * out[index + 1] : 0);
  return out;
}
