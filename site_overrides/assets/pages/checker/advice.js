/**
 * Join what is needed once there is a case: reasoning, advice, links. `start.js` fetches it then,
 * so that the first view is light on a slow line.
 */

export { changeWords } from "../../case/diff-words.js";
export { triage } from "../../engine/triage.js";
export { openLink } from "./arrived.js";
export { askView } from "./ask-view.js";
export { checkView, stuckView } from "./check-view.js";
export { linkView } from "./link-view.js";
export { measuredPart } from "./measured.js";
export { liveSummary } from "./reasons.js";
export { fillCode, sharePanel } from "./share-panel.js";
export { stuckTitle, stuckWords } from "./stuck.js";
