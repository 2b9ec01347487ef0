// Findings are noted above the list of what can be done: links lead there, and back to where one was in it. One stands
// in the hand; for the keyboard another comes after what was just done, so that the next Tab is not the rest of the list.

const open = () => document.querySelector("#now .notes:not(.noted)");
const about = (row) => row.dataset.note.replace(/-(right|left)$/, ""); // the sign, on either side
const links = () => document.querySelectorAll("a[href='#notes-title']");
let from = null; // the button that did what is to be noted
let sign = null; // what a link led to

function toNotes(clicked) {
  clicked.preventDefault();
  sign = about(open().querySelector(".note"));
  open().scrollIntoView();
  document.getElementById("notes-title").focus({ preventScroll: true });
}

/** Let the links lead to what is not noted yet. */
export function lead(practice) {
  const ahead = document.getElementById("ahead");
  practice.addEventListener("submit", ({ submitter }) => {
    if (!submitter?.closest(".offers")) return;
    from = submitter;
    ahead.hidden = false;
    submitter.closest("li").append(ahead);
  });
  for (const link of links()) link.addEventListener("click", toNotes);
  offer();
}

/** Show the links while something is not noted yet. */
export function offer() {
  for (const link of links()) link.hidden = !open();
}

/** Go back to the list once both sides of what a link led to are noted, where they were done. */
export function back() {
  if (!sign || [...(open()?.querySelectorAll(".note") ?? [])].some((row) => about(row) === sign)) return;
  sign = null;
  from?.scrollIntoView({ block: "center" });
  from?.focus({ preventScroll: true });
}
