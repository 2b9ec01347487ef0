// Copies a text that stands on the page: where the browser forbids it, the text is marked, to be copied by hand.

/** Let every button `data-copy` copy the text of the element that it names. */
export function copyButtons() {
  for (const button of document.querySelectorAll("[data-copy]")) {
    const words = button.textContent;
    button.hidden = false;
    button.addEventListener("click", async () => {
      const text = document.getElementById(button.dataset.copy);
      button.textContent = (await copied(text)) ? "Copied" : "Marked: copy it now";
      setTimeout(() => { button.textContent = words; }, 4000);
    });
  }
}

async function copied(element) {
  try {
    await navigator.clipboard.writeText(element.textContent);
    return true;
  } catch { // no clipboard over plain http
    element.closest("details")?.setAttribute("open", "");
    const range = document.createRange();
    range.selectNodeContents(element);
    getSelection().removeAllRanges();
    getSelection().addRange(range);
    return document.execCommand("copy");
  }
}
