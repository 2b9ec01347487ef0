// Findings in the few words that fit a cell, and in the whole words that are read aloud.

const UNITS = { deg: "°", C: " °C", ratio: "" };

export const quantity = (value, unit) => `${String(value).replace("-", "−")}${UNITS[unit] ?? ` ${unit}`}`;

/** A measurement of a sign: one whose minus has a name is said by that name. */
export function measuredWords(value, unit, ways) {
  if (!ways || !value) return quantity(value, unit);
  return `${quantity(Math.abs(value), unit)} ${value > 0 ? ways[0] : ways[1]}`;
}

export const SIDES = ["right", "left"];

/** What is asked before the questions of the protocol, by its field. */
export const ASKED = { complaint: "Complains of", acuity: "How fresh", mechanism: "How it came about", onset_days: "How long ago it began", setting: "Seen in" };

/** The kind of mark for a finding, or for none. */
export function kindOf(finding) {
  if (!finding || finding.state === "not_examined") return "unexamined";
  if (!finding.state) return "recorded";
  return finding.state;
}

const bare = (level) => /^[0-9]/.test(level);

/** A level as it is offered: its words, behind the grade that the trade writes. */
export function levelWords([id, words]) {
  return words === id || !bare(id) || words.startsWith(id) ? words : `${id} ${words}`;
}

/** What a cell says. */
export function cellWords(finding, sign, reasons) {
  if (!finding || finding.state === "not_examined") return "";
  if (finding.state === "untestable") return reasons[finding.reason];
  const parts = [];
  const level = (sign.levels ?? []).find(([id]) => id === finding.level);
  if (finding.state === "normal" && finding.value === undefined) parts.push("normal");
  else if (level && finding.state === "abnormal") parts.push(bare(level[0]) ? level[0] : level[1]);
  else if (finding.state === "abnormal" && !level) parts.push(sign.kind === "test" ? "positive" : "abnormal");
  if (finding.value !== undefined) parts.push(measuredWords(finding.value, finding.unit, sign.measure?.ways));
  return parts.join(", ");
}

/** What a screen reader says of a cell. */
export function spoken(finding, sign, side, reasons) {
  const where = side ? `${side} ` : "";
  const kind = { unexamined: "not examined", untestable: "could not be tested, ", recorded: "" }[kindOf(finding)] ?? "";
  const words = cellWords(finding, sign, reasons);
  const note = finding?.note ? `, ${finding.note}` : "";
  return `${where}${sign.name}: ${kind}${words}${finding?.state === "abnormal" ? ", abnormal" : ""}${note}`;
}

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** A day for a narrow place: 3 Feb 2026. */
function dayWords(day) {
  const [year, month, date] = day.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

/** An image in a line: its name, its day, and what it shows. */
export function imageWords({ image, on, shows, limited }, images, lesions) {
  const shown = shows?.map((lesion) => lesions[lesion]).join(", ") || (shows ? "nothing abnormal seen" : "not read yet");
  return `${images.find((each) => each.id === image).name}${on ? `, ${dayWords(on)}` : ""}: ${shown}${limited && shows ? ", of limited value" : ""}`;
}

/** What is abnormal or could not be tested in a position, in a line. */
export function tellingWords(signs, sheet, reasons) {
  const told = [];
  for (const side of [...SIDES, null]) {
    const here = signs.filter((sign) => Boolean(sign.person) === (side === null)).flatMap((sign) => {
      const finding = sheet.finding(sign.id, side);
      if (finding?.state === "untestable") return [`${lowered(sign.name)} could not be tested`];
      if (finding?.state !== "abnormal" && !(finding && finding.value !== undefined)) return [];
      const words = cellWords(finding, sign, reasons);
      return [words === "yes" || words === "positive" || (words === "abnormal" && isAbnormalByName(sign)) ? lowered(sign.name) : `${lowered(sign.name)} ${words}`];
    });
    if (here.length) told.push(`${side ? `${side}: ` : ""}${here.join(", ")}`);
  }
  return told.join("; ");
}

/** Whether a sign is called by what is wrong, as a scar is, and not by what is tested. */
const isAbnormalByName = (sign) => !sign.levels || ["no", "none"].includes(sign.levels[0][1]);

/** A name for the middle of a sentence; names of people keep their capital. */
function lowered(name) {
  return /^(Lachman|McMurray|Thessaly|Apley|Trendelenburg|Dial|Q |Beighton|Wilson|Noble|Ober|Clarke|Homans|Murphy)/.test(name) ? name : name[0].toLowerCase() + name.slice(1);
}
