/** Read logs away from the page, so that it answers while a long one is read. */
import { logReader } from "./log-work.js";
import { answerOrders } from "./runner.js";

answerOrders(logReader);
