// What an operation is about: whether two of them state the same thing, so that one could overwrite the other.

/** Whether two operations are about the same statement; a touch for a whole position is about any finding. */
export function touchesSame(one, other) {
  const a = statement(one), b = statement(other);
  return a === b || (a.startsWith("finding") && b.startsWith("finding") && (a === "finding" || b === "finding"));
}

function statement({ change, finding, sign, side, item, score, image, field, document, passage }) {
  switch (change) {
    case "set_finding": return `finding ${finding.sign} ${finding.side ?? ""}`;
    case "remove_finding": return `finding ${sign} ${side ?? ""}`;
    case "mark_normal": case "unmark_normal": return "finding";
    case "set_history": return `history ${item}`;
    case "set_total": return `total ${score} ${side ?? ""}`;
    case "set_imaging": return `imaging ${image} ${side}`;
    case "set_passage": return `passage ${document} ${passage}`;
    default: return `${change} ${field}`;
  }
}
