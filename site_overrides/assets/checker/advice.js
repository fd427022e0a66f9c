/**
 * Join what is needed once there is a case: reasoning, advice, links. `start.js` fetches it then,
 * so that the first view is light on a slow line.
 */
export { openLink } from "./output/arrived.js";
export { checkView, stuckView } from "./output/check-view.js";
export { linkView } from "./output/link-view.js";
export { measuredPart } from "./output/measured.js";
export { liveSummary } from "./output/reasons.js";
export { sharePanel } from "./output/share-panel.js";
export { stuckTitle, stuckWords } from "./output/stuck.js";
export { triage } from "./reasoning/triage.js";
