// The card beside a thing: what decides, first; the rows that hold it, below; where it is drawn; and
// what goes dark when it fails.
import { useEffect, useState } from "preact/hooks";
import { api, Refused } from "./api";
import { item_of } from "./failing";
import { aircraft, aircraft_wanted, light_of, select } from "./light";
import { asked_column, attempt, changes, link, place, selected, sheets, tables } from "./state";

interface Line {
  label: string;
  value: string;
  kind: "limit" | "source" | "plain";
}
interface Block {
  head: string;
  table: string; // whose row it is; "": a reason
  lines: Line[];
}

// Lines that begin at the left begin a block; further in they belong to it. A row's cells stand as a
// name, two blanks or more, a value.
function blocks_of(text: string): Block[] {
  const names = new Set(tables.value.map((table) => table.name));
  const blocks: Block[] = [];
  for (const line of text.split("\n").filter((one) => one.trim() !== "")) {
    const inside = /^\s/.test(line);
    const bare = line.trim();
    const last = blocks.at(-1);
    if (!inside || !last) {
      const first = bare.split(" ", 1)[0] ?? "";
      const row = names.has(first) && !bare.includes(": ");
      blocks.push({ head: bare.replace(/ \(.*\.csv:\d+\)$/, ""), table: row ? first : "", lines: [] });
      continue;
    }
    const cell = /^(\S+) {2,}(.*)$/.exec(bare);
    const said = /^(limit|source|cure|method)[ :]+(.*)$/.exec(bare);
    if (said) {
      const [, label = "", value = ""] = said;
      last.lines.push({ label, value, kind: label === "limit" ? "limit" : "source" });
    } else if (cell && last.table !== "") {
      last.lines.push({ label: cell[1] ?? "", value: cell[2] ?? "", kind: "plain" });
    } else {
      last.lines.push({ label: "", value: bare, kind: "plain" });
    }
  }
  return blocks;
}

// Words that are keys of something lead there.
function Words({ text }: { text: string }) {
  const craft = aircraft.value;
  if (!craft) {
    return <>{text}</>;
  }
  return (
    <>
      {text.split(/([\s,;>]+)/).map((word, i) =>
        word !== selected.value && light_of(craft, word).kind !== "" ? (
          <button type="button" class="word" key={i} onClick={() => select(word)}>
            {word}
          </button>
        ) : (
          word
        ),
      )}
    </>
  );
}

function Lines({ block }: { block: Block }) {
  const column = asked_column.value;
  return (
    <dl>
      {block.lines.map((line, i) => (
        <div key={i} class={`${line.kind}${line.label === column && column !== "" ? " asked" : ""}`}>
          {line.label !== "" && <dt>{line.label}</dt>}
          <dd>
            <Words text={line.value} />
          </dd>
        </div>
      ))}
    </dl>
  );
}

function Reasons({ text }: { text: string }) {
  const blocks = blocks_of(text);
  const reasons = blocks.filter((block) => block.table === "");
  const rows = blocks.filter((block) => block.table !== "");
  const column = asked_column.value;
  const asked = (block: Block) => column !== "" && block.lines.some((line) => line.label === column);
  return (
    <>
      {reasons.map((block, i) => (
        <section key={i}>
          <h3>
            <Words text={block.head} />
          </h3>
          <Lines block={block} />
        </section>
      ))}
      {rows.map((block, i) => (
        <details key={i} open={i === 0 || asked(block)}>
          <summary>{block.head}</summary>
          <Lines block={block} />
        </details>
      ))}
    </>
  );
}

// Diagrams and faces that show it: asked for once somebody wants to know.
function Drawn({ job, name, open }: { job: string; name: string; open?: ((sheet: string) => void) | undefined }) {
  const [found, set_found] = useState<string[] | null>(null);
  const [wanted, set_wanted] = useState(false);
  useEffect(() => {
    set_found(null);
    set_wanted(false);
  }, [name]);
  const ask = () => {
    set_wanted(true);
    void attempt(() => api.drawn(job, name)).then((answer) => set_found(answer?.sheets ?? []));
  };
  if (!wanted) {
    return (
      <button type="button" onClick={ask}>
        where drawn
      </button>
    );
  }
  return (
    <ul class="drawn" aria-label="Drawn on">
      {found === null && <li>looking through the sheets ...</li>}
      {found?.length === 0 && <li>on no diagram</li>}
      {found?.map((sheet) => {
        const title = sheets.value.find((one) => one.name === sheet)?.title ?? sheet;
        return (
          <li key={sheet}>
            {open ? (
              <button type="button" onClick={() => open(sheet)}>
                {title}
              </button>
            ) : (
              <a href={link(job, "sheet", sheet)}>{title}</a>
            )}
          </li>
        );
      })}
    </ul>
  );
}

export function Why({ job, name, open }: { job: string; name: string; open?: (sheet: string) => void }) {
  const [text, set_text] = useState("...");
  const [wrong, set_wrong] = useState("");
  const [failing, set_failing] = useState(false);
  const round = changes.value;
  useEffect(() => set_failing(false), [name]);
  useEffect(() => {
    aircraft_wanted.value++; // names in what is said lead on
    return () => {
      aircraft_wanted.value--;
    };
  }, []);
  useEffect(() => {
    let current = true;
    const asked = failing ? api.fail(job, name, "") : api.why(job, item_of(name));
    asked
      .then((answer) => {
        if (current) {
          set_text(answer);
          set_wrong("");
        }
      })
      .catch((error: unknown) => {
        if (current) {
          set_wrong(error instanceof Refused ? error.message : "the desk does not answer");
        }
      });
    return () => {
      current = false;
    };
  }, [job, name, failing, round]);
  const kind = light_of(aircraft.value, name).kind;
  return (
    <aside class="why" aria-live="polite">
      <header>
        <strong>
          {name} <small>{kind}</small>
        </strong>
        {place.value.kind !== "fail" && (
          <button type="button" onClick={() => set_failing(!failing)}>
            {failing ? "why" : "fail it"}
          </button>
        )}
        <button type="button" onClick={() => select("")}>
          close
        </button>
      </header>
      <div class="reasons" tabIndex={0} role="region" aria-label={`Why ${name} is so`}>
        {wrong !== "" && <p>{wrong}</p>}
        {wrong === "" && (failing ? <pre>{text}</pre> : <Reasons text={text} />)}
      </div>
      <footer>
        <Drawn job={job} name={name} open={open} />
      </footer>
    </aside>
  );
}
