// The customer's page as a file of its own: no desk behind it, no network. Its answer is a code; what
// the code is made of stands in src/server/pack.c, which takes it.
import { render } from "preact";
import { useState } from "preact/hooks";
import { Choices, day, OptionCard, WORDS, type Offer } from "./offer";
import { hex_bytes, mac, sha256_hex } from "./sha256";

interface Content {
  offer: Offer;
  picture: string;
  pack: number;
  secret: string;
  choices: string;
  what: string;
  made: string;
  ends_s: number;
  key: string;
}

const LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const MAC_LETTERS = 12;
const DIGITS: Record<string, string> = { "": "0", no: "1", yes: "2" };

function plain_name(name: string): string {
  return name
    .normalize("NFC")
    .split(/[ \t\r\n]+/)
    .filter((word) => word !== "")
    .join(" ")
    .replace(/[A-Z]/g, (letter) => letter.toLowerCase());
}

function letters_of(bits: string): string {
  const padded = bits.padEnd(Math.ceil(bits.length / 5) * 5, "0");
  let out = "";
  for (let at = 0; at < padded.length; at += 5) {
    out += LETTERS[parseInt(padded.slice(at, at + 5), 2)] ?? "";
  }
  return out;
}

function bits_of(bytes: Uint8Array): string {
  return [...bytes].map((byte) => byte.toString(2).padStart(8, "0")).join("");
}

function code_of(content_hash: string, secret: string, name: string, digits: string): string {
  const said = `marling answer 1\n${content_hash}\n${plain_name(name)}\n${digits}\n`;
  const answers =
    (digits[0] ?? "0") +
    [...digits.slice(1)].map((digit) => Number(digit).toString(2).padStart(2, "0")).join("");
  const proof = mac(hex_bytes(secret), new TextEncoder().encode(said));
  const letters = letters_of(answers) + letters_of(bits_of(proof).slice(0, MAC_LETTERS * 5));
  const sum = [...letters].reduce(
    (total, letter, i) => total + LETTERS.indexOf(letter) * ((i % 30) + 1),
    0,
  );
  return (letters + (LETTERS[sum % 31] ?? "")).replace(/(.{4})(?=.)/g, "$1-");
}

function Pack({ content, hash }: { content: Content; hash: string }) {
  const offer = content.offer;
  const asked = content.choices.split(" ").filter((key) => key !== "");
  const shown = Object.fromEntries(offer.options.map((o) => [o.option, o.chosen]));
  const [chosen, set_chosen] = useState<Record<string, string>>(shown);
  const [name, set_name] = useState("");
  const [code, set_code] = useState("");
  const [large, set_large] = useState(false);
  const differs = asked.some((key) => chosen[key] !== shown[key]);
  const over = Date.now() / 1000 > content.ends_s;

  const answer = () => {
    const digits = (differs ? "0" : "1") + asked.map((key) => DIGITS[chosen[key] ?? ""]).join("");
    set_code(code_of(hash, content.secret, name, digits));
  };
  return (
    <>
      <h1>{offer.title}</h1>
      <p class="quiet">
        For {content.what}; made {content.made.slice(0, 10)}, answers until {day(content.ends_s)}.
      </p>
      {over && (
        <p class="told" role="alert">
          The time of this file is over. Ask the shop for a new one.
        </p>
      )}
      <button
        type="button"
        class={large ? "picture large" : "picture"}
        aria-label={large ? "Show the whole picture" : "Enlarge the picture"}
        onClick={() => set_large(!large)}
      >
        <img src={content.picture} alt="The instrument panel as it will look from the front" />
      </button>
      <p class="quiet">Touch the picture to enlarge it; what screens show is illustration.</p>
      <h2>What you can choose</h2>
      <ul class="options">
        {offer.options.map((option) => (
          <OptionCard key={option.option} option={option}>
            {asked.includes(option.option) ? (
              <Choices
                option={option}
                chosen={chosen[option.option] ?? ""}
                locked={over}
                choose={(word) => {
                  set_code("");
                  set_chosen({ ...chosen, [option.option]: word });
                }}
              />
            ) : (
              <p>
                Chosen: <b>{WORDS[option.chosen]}</b>
              </p>
            )}
          </OptionCard>
        ))}
      </ul>
      <form
        class="sign"
        onSubmit={(event) => {
          event.preventDefault();
          answer();
        }}
      >
        <h2>{differs ? "Answer" : "Approve"}</h2>
        {differs && (
          <p role="status">
            You changed a choice, so the panel may look different from this picture. The code tells
            the shop your choices; it sends you what they make of it, to approve.
          </p>
        )}
        <label for="name">Your name, as you would sign it</label>
        <input
          id="name"
          autocomplete="name"
          maxLength={100}
          required
          value={name}
          onInput={(event) => {
            set_code("");
            set_name(event.currentTarget.value);
          }}
        />
        <button type="submit" class="main" disabled={over || plain_name(name) === ""}>
          {differs ? "Make the code of my choices" : "I approve what is shown here: make the code"}
        </button>
        {code !== "" && (
          <output class="code" for="name">
            <b>{code}</b>
            <span>
              Send this code and your name, "{name.trim()}", to the shop: by message, or read it out.
            </span>
          </output>
        )}
        <p class="quiet">
          The code fits this file, this name and these answers, and nothing else. Whoever has the
          file can make one, so pass it on to nobody. The shop's seal is at the end of the file; its
          key begins with {content.key.slice(0, 16)}. It is no judgement of airworthiness.
        </p>
      </form>
      <p class="caution">{offer.caution}</p>
    </>
  );
}

const root = document.getElementById("pack");
const text = document.getElementById("content")?.textContent ?? "";
if (root && text !== "") {
  const hash = sha256_hex(new TextEncoder().encode(text));
  root.textContent = "";
  render(<Pack content={JSON.parse(text) as Content} hash={hash} />, root);
}
