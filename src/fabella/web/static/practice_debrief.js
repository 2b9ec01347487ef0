// The debrief: drawings are fetched and played when they are asked to be; until then their key positions stand there.

import { mountPlayers } from "./figure_player.js";

const mount = () => mountPlayers(document.getElementById("debrief"));
addEventListener("arrived", mount); // it may have been worked out while the page stood there
mount();
