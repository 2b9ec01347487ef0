// Findings are noted above the list of what can be done: the hand leads there, and back to where one was in it.

const open = () => document.querySelector("#now .notes:not(.noted)");
const about = (row) => row.dataset.note.replace(/-(right|left)$/, ""); // the sign, on either side
let from = null; // the button that did what is to be noted
let sign = null; // what the hand led to

/** Let the link lead to what is not noted yet. */
export function lead(link, practice) {
  practice.addEventListener("submit", ({ submitter }) => { if (submitter?.closest(".offers")) from = submitter; });
  link?.addEventListener("click", (clicked) => {
    clicked.preventDefault();
    sign = about(open().querySelector(".note"));
    open().scrollIntoView();
    document.getElementById("notes-title").focus({ preventScroll: true });
  });
  offer(link);
}

/** Show the link while something is not noted yet. */
export function offer(link) {
  if (link) link.hidden = !open();
}

/** Go back to the list once both sides of what the hand led to are noted, where they were done. */
export function back() {
  if (!sign || [...(open()?.querySelectorAll(".note") ?? [])].some((row) => about(row) === sign)) return;
  sign = null;
  from?.scrollIntoView({ block: "center" });
  from?.focus({ preventScroll: true });
}
