// Pages with nothing but a text to copy.
import { copyButtons } from "./copying.js";

copyButtons();
