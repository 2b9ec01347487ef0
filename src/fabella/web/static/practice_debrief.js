// The debrief: drawings are fetched and played when they are asked to be; until then their key positions stand there.

import { mountPlayers } from "./figure_player.js";

mountPlayers(document);
