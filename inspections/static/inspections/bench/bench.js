// The list of jobs, and signing: what waits on this tablet is sent, and what is unsaved is listed.
import { Desk } from "./desk.js";

const desk = new Desk(document.getElementById("kept"));
await desk.show();
await desk.round();
await desk.keepPages([desk.steps]);
