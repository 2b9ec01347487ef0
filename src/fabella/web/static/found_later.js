// One touch for the rest of a group redraws the form in its place; without this file the page is loaded again.

const IN_PLACE = /^(un)?rest:/;

function swap(form, page) {
  const fresh = page.getElementById("found");
  if (!fresh) return false;
  const open = document.querySelector(".more-lesions").open;
  form.replaceWith(document.adoptNode(fresh));
  if (open) fresh.querySelector(".more-lesions").open = true;
  attend(fresh);
  return true;
}

async function submitted(event) {
  const { target: form, submitter } = event;
  if (!submitter || !IN_PLACE.test(submitter.value)) return;
  event.preventDefault();
  const [, group] = submitter.value.split(":");
  try {
    const answer = await fetch(location.pathname, { method: "POST", body: new FormData(form, submitter), cache: "no-store" });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (swap(form, page)) {
      document.querySelector(`#group-${group} .rest button:last-child`).focus({ preventScroll: true });
      return;
    }
  } catch {
    // no connection: the page is asked for as a whole, and says so
  }
  form.removeEventListener("submit", submitted);
  form.requestSubmit(submitter);
}

function entered(event) {
  if (event.key !== "Enter" || event.target.tagName !== "INPUT") return; // some browsers press no hidden button
  event.preventDefault();
  event.currentTarget.requestSubmit(event.currentTarget.querySelector("button.main"));
}

function attend(form) {
  form.addEventListener("submit", submitted);
  form.addEventListener("keydown", entered);
}

attend(document.getElementById("found"));
