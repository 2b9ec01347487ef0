// Says what was marked on this device and waits for its examiner's code.
import { DATABASE } from "./mark_queue.js";
import { openStore } from "./outbox_store.js";

const store = await openStore(DATABASE), waiting = (await store.all("status", "waiting")).length;
const line = document.getElementById("waiting");
if (waiting) {
  line.textContent = `${waiting} ${waiting === 1 ? "entry" : "entries"} on mark sheets ${waiting === 1 ? "waits" : "wait"} on this device. The code of the examiner who made them sends them.`;
  line.hidden = false;
}
