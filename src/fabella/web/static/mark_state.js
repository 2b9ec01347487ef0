// A mark sheet as it stands here: what the server said of it, and on top of that what was touched since.

/** Return a sheet with events on top, in order; the server's own is not changed. */
export function standing(sheet, events) {
  const made = { ...sheet, marks: { ...sheet.marks }, comments: { ...sheet.comments }, reopened: [...sheet.reopened] };
  for (const each of events) apply(made, each);
  return made;
}

function apply(sheet, event) {
  const put = (where, name, value) => { if (value === null || value === "") delete where[name]; else where[name] = value; };
  switch (event.act) {
    case "begin": sheet.began ??= Date.parse(event.at) - 1000 * (event.ahead_s ?? 0); break;
    case "mark": put(sheet.marks, event.item, event.mark); break;
    case "grade": sheet.grade = event.grade; break;
    case "comment": put(sheet.comments, event.item, event.text); break;
    case "concern": sheet.concern = event.reason; break;
    case "finish": sheet.finished = true; break;
    case "reopen": sheet.finished = false; sheet.reopened.push(event.reason); break;
    default:
  }
}

/** The event that takes another one back, given the sheet as it stood before it. */
export function taking(event, before) {
  switch (event.act) {
    case "mark": return { act: "mark", item: event.item, mark: before.marks[event.item] ?? null };
    case "grade": return { act: "grade", grade: before.grade };
    case "concern": return { act: "concern", reason: before.concern };
    case "comment": return { act: "comment", item: event.item, text: before.comments[event.item] ?? "" };
    default: return null;
  }
}

/** The items that have neither a mark nor a reason for none. */
export const gaps = (sheet, station) => station.items.filter((each) => !(each.id in sheet.marks));

/** Whether nothing was judged on it, though it may have been opened. */
const isBlank = (sheet) => !Object.keys(sheet.marks).length && sheet.grade === null && !sheet.concern && !sheet.finished;

/** Whether nobody waits for it: its candidate is away, or somebody else has marked them there, and nothing was judged. */
export const isExcused = (sheet) => Boolean(sheet.away || sheet.instead) && isBlank(sheet);

/** How a sheet stands: away (nobody waits for it), none, part, full or half (finished with something wanting), and in words. */
export function how(sheet, station) {
  if (isExcused(sheet)) return ["away", sheet.instead ? `marked by ${sheet.instead}` : `candidate ${sheet.away}`];
  const wanting = gaps(sheet, station).length + (sheet.grade === null ? 1 : 0);
  if (sheet.finished) return wanting ? ["part", "finished, half empty"] : ["full", "finished"];
  return sheet.number || sheet.began || Object.keys(sheet.marks).length ? ["part", "being marked"] : ["none", "not begun"];
}
