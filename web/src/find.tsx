// One line finds everything: sheets and tables by name, boxes, wires, pins by key.
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type Found } from "./api";
import { attempt, current_job, finding, go, selected, sheets, tables } from "./state";

interface Choice {
  what: string;
  key: string;
  about: string;
  open: () => void;
}

function matches(words: string, text: string): boolean {
  return text.toLowerCase().includes(words.toLowerCase());
}

function choices(words: string, found: Found[]): Choice[] {
  const job = current_job.value;
  const named = sheets.value
    .filter((sheet) => matches(words, sheet.name) || matches(words, sheet.title))
    .map((sheet) => ({
      what: "sheet",
      key: sheet.name,
      about: sheet.title,
      open: () => go(job, "sheet", sheet.name),
    }));
  const kept = tables.value
    .filter((table) => matches(words, table.name))
    .map((table) => ({
      what: "table",
      key: table.name,
      about: table.meaning,
      open: () => go(job, "table", table.name),
    }));
  const rows = found.map((row) => ({
    what: row.table,
    key: row.key,
    about: row.about,
    open: () => {
      selected.value = row.key;
    },
  }));
  return [...rows, ...named, ...kept].slice(0, 80);
}

export function Find() {
  const [words, set_words] = useState("");
  const [found, set_found] = useState<Found[]>([]);
  const [at, set_at] = useState(0);
  const input = useRef<HTMLInputElement>(null);
  const list = choices(words, words === "" ? [] : found);

  useEffect(() => input.current?.focus(), []);
  useEffect(() => {
    set_at(0);
    if (words === "") {
      return undefined;
    }
    let current = true;
    void attempt(() => api.search(current_job.value, words)).then((answer) => {
      if (current && answer) {
        set_found(answer.found);
      }
    });
    return () => {
      current = false;
    };
  }, [words]);

  const open = (choice: Choice | undefined) => {
    if (choice) {
      finding.value = false;
      choice.open();
    }
  };
  const keys = (event: KeyboardEvent) => {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      const step = event.key === "ArrowDown" ? 1 : -1;
      set_at((at + step + list.length) % Math.max(list.length, 1));
    } else if (event.key === "Enter") {
      open(list[at]);
    } else if (event.key === "Escape") {
      finding.value = false;
    }
  };
  return (
    <div class="find" role="dialog" aria-label="Find">
      <ul id="found" role="listbox" aria-label="What was found">
        {list.map((choice, i) => (
          <li
            key={`${choice.what} ${choice.key}`}
            role="option"
            aria-selected={i === at}
            onClick={() => open(choice)}
          >
            <strong>{choice.key}</strong>
            <span>{choice.about}</span>
            <small>{choice.what}</small>
          </li>
        ))}
      </ul>
      <div class="line">
        <input
          ref={input}
          type="text"
          value={words}
          placeholder="box, wire, pin, sheet, table"
          aria-label="What to find"
          aria-controls="found"
          onInput={(event) => set_words(event.currentTarget.value)}
          onKeyDown={keys}
        />
        <button type="button" onClick={() => (finding.value = false)}>
          close
        </button>
      </div>
    </div>
  );
}
