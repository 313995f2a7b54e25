// What changes rows. Answers come back by the desk's own events.
import { api } from "./api";
import { attempt, current_job, message } from "./state";

export async function undo(): Promise<void> {
  message.value = "";
  const done = await attempt(() => api.undo(current_job.value));
  if (done?.act === 0) {
    message.value = "there is nothing to undo";
  }
}

export async function redo(): Promise<void> {
  message.value = "";
  const done = await attempt(() => api.redo(current_job.value));
  if (done?.act === 0) {
    message.value = "there is nothing to redo";
  }
}
