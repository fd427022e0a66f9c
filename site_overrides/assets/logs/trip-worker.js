/** Read logs of a drive away from the page, so that it answers while a long one is read. */

import { answerOrders } from "./runner.js";
import { tripReader } from "./trip-work.js";

answerOrders(tripReader);
