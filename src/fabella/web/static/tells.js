// What lies over the foot of a page tells late: the page can be scrolled clear of it, it stands above what is at hand, and
// for a moment it lets through the touch that was on its way to what it covers.

const REST = 700; // milliseconds
const root = document.documentElement, place = document.getElementById("tells"), hand = document.querySelector(".hand, .at-hand");
let height = 0, timer = 0;

const px = (element) => `${element.offsetHeight}px`;

new ResizeObserver(() => {
  if (place.offsetHeight > height) {
    place.dataset.fresh = "yes";
    clearTimeout(timer);
    timer = setTimeout(() => { delete place.dataset.fresh; }, REST);
  }
  height = place.offsetHeight;
  root.style.setProperty("--tells", px(place));
}).observe(place);
if (hand) new ResizeObserver(() => root.style.setProperty("--hand", px(hand))).observe(hand);

/** Say words in a place that has a button to put them away. */
export function tellOnce(told, words) {
  told.firstElementChild.textContent = words;
  told.querySelector("button").addEventListener("click", () => { told.hidden = true; }, { once: true });
  told.hidden = false;
}
