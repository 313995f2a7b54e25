// The card beside a thing: why it is as it is, and what goes dark when it fails.
import { useEffect, useState } from "preact/hooks";
import { api, Refused } from "./api";
import { changes, selected } from "./state";

export function Why({ job, name }: { job: string; name: string }) {
  const [text, set_text] = useState("...");
  const [failing, set_failing] = useState(false);
  const round = changes.value;
  useEffect(() => set_failing(false), [name]);
  useEffect(() => {
    let current = true;
    const asked = failing ? api.fail(job, name, "") : api.why(job, name);
    asked
      .then((answer) => {
        if (current) {
          set_text(answer);
        }
      })
      .catch((error: unknown) => {
        if (current) {
          set_text(error instanceof Refused ? error.message : "the desk does not answer");
        }
      });
    return () => {
      current = false;
    };
  }, [job, name, failing, round]);
  return (
    <aside class="why" aria-live="polite">
      <header>
        <strong>{name}</strong>
        <button type="button" onClick={() => set_failing(!failing)}>
          {failing ? "why" : "fail it"}
        </button>
        <button type="button" onClick={() => (selected.value = "")}>
          close
        </button>
      </header>
      <pre tabIndex={0}>{text}</pre>
    </aside>
  );
}
