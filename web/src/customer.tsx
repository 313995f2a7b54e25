// The customer's page, by a link: picture, choices, approval by typed name. The link's secret stands
// behind the # of the address, which browsers send to nobody; questions carry it in a head line.
import { render } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { ChangeList, Choices, day, OptionCard, WORDS, type Offer } from "./offer";

const LOOK_AGAIN_MS = 15000;
const token = location.hash.replace(/^#/, "");

class Told extends Error {}

async function ask(path: string, body?: unknown): Promise<Response> {
  const headers: Record<string, string> = { "Marling-Link": token };
  if (body !== undefined) {
    headers["Content-Type"] = "application/json";
  }
  let response: Response;
  try {
    response = await fetch(path, {
      headers,
      ...(body === undefined ? {} : { method: "POST", body: JSON.stringify(body) }),
    });
  } catch {
    throw new Told("The shop's desk does not answer just now. Nothing is lost: try again later.");
  }
  if (response.status === 401) {
    throw new Told("This link is over, or was taken back. Ask the shop for a new one.");
  }
  if (!response.ok) {
    const refusal = (await response.json().catch(() => ({}))) as { error?: string };
    throw new Told(refusal.error ?? `The desk refused (${response.status}).`);
  }
  return response;
}

function as_data(bytes: Blob): Promise<string> {
  return new Promise((resolve) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result));
    reader.readAsDataURL(bytes);
  });
}

function State({ offer }: { offer: Offer }) {
  const approval = offer.approval;
  if (!approval) {
    return null;
  }
  const when = approval.at.replace("T", " ").replace("Z", " UTC");
  return approval.holds ? (
    <p class="state good" role="status">
      ✔ {approval.name} approved exactly this on {when}.
    </p>
  ) : (
    <div class="state void" role="status">
      <p>
        ✘ {approval.name} approved an earlier state on {when}. What is seen has changed since, so
        that approval no longer counts:
      </p>
      <ChangeList changes={approval.changes} />
    </div>
  );
}

function Sign({ offer, sign }: { offer: Offer; sign: (name: string) => Promise<void> }) {
  const [name, set_name] = useState("");
  const open = offer.options.filter((option) => option.chosen === "" && option.passed === "");
  return (
    <form
      class="sign"
      onSubmit={(event) => {
        event.preventDefault();
        void sign(name).then(() => set_name(""));
      }}
    >
      <h2>Approve</h2>
      {offer.approval && !offer.approval.holds && (
        <p>An earlier approval ended: what has changed since stands at the top of this page.</p>
      )}
      {open.length > 0 && (
        <p>
          Still open, and shown as if chosen: {open.map((option) => option.name).join("; ")}.
        </p>
      )}
      <label for="name">Your name, as you would sign it</label>
      <input
        id="name"
        autocomplete="name"
        maxLength={100}
        required
        value={name}
        onInput={(event) => set_name(event.currentTarget.value)}
      />
      <button type="submit" class="main">
        I approve what is shown here
      </button>
      <p class="quiet">
        Bound to what you see, by the number {offer.hash.slice(0, 12)}. If the shop changes any of it
        later, this approval ends and you are asked again. It says what you want built; it is no
        judgement of airworthiness.
      </p>
    </form>
  );
}

function Page() {
  const [offer, set_offer] = useState<Offer | null>(null);
  const [picture, set_picture] = useState("");
  const [told, set_told] = useState("");
  const [large, set_large] = useState(false);
  const shown = useRef("");

  const look = async () => {
    try {
      const answer = (await (await ask("/api/offer")).json()) as Offer;
      if (shown.current !== answer.hash) {
        set_picture(await as_data(await (await ask("/api/offer/picture")).blob()));
        shown.current = answer.hash;
      }
      set_offer(answer);
      set_told("");
    } catch (error) {
      set_told(error instanceof Told ? error.message : "Something went wrong; load the page again.");
    }
  };
  const say = async (path: string, body: unknown) => {
    try {
      await ask(path, body);
      await look();
    } catch (error) {
      const words = error instanceof Told ? error.message : "Something went wrong.";
      await look();
      set_told(words);
    }
  };
  useEffect(() => {
    void look();
    const timer = setInterval(() => {
      if (!document.hidden) {
        void look();
      }
    }, LOOK_AGAIN_MS);
    return () => clearInterval(timer);
  }, []);

  return (
    <>
      {told !== "" && (
        <p class="told" role="alert">
          {told}
        </p>
      )}
      {offer === null ? (
        told === "" && <p class="wait">Opening what the shop shows you ...</p>
      ) : (
        <>
          <h1>{offer.title}</h1>
          <State offer={offer} />
          {picture === "" ? (
            <p class="wait">The picture is being drawn ...</p>
          ) : (
            <button
              type="button"
              class={large ? "picture large" : "picture"}
              aria-label={large ? "Show the whole picture" : "Enlarge the picture"}
              onClick={() => set_large(!large)}
            >
              <img src={picture} alt="The instrument panel as it will look from the front" />
            </button>
          )}
          <p class="quiet">Touch the picture to enlarge it; what screens show is illustration.</p>
          <h2>What you can choose</h2>
          <ul class="options">
            {offer.options.map((option) => (
              <OptionCard key={option.option} option={option}>
                {option.passed === "" ? (
                  <Choices
                    option={option}
                    chosen={option.chosen}
                    locked={false}
                    choose={(chosen) =>
                      void say("/api/offer/choose", { option: option.option, chosen })
                    }
                  />
                ) : (
                  <p>
                    Chosen: <b>{WORDS[option.chosen]}</b>
                  </p>
                )}
              </OptionCard>
            ))}
          </ul>
          {offer.approval?.holds ? null : (
            <Sign
              offer={offer}
              sign={(name) => say("/api/offer/approve", { hash: offer.hash, name })}
            />
          )}
          {offer.ends_s !== undefined && (
            <p class="quiet">This link works until {day(offer.ends_s)}.</p>
          )}
          <p class="caution">{offer.caution}</p>
        </>
      )}
    </>
  );
}

const root = document.getElementById("customer");
if (root) {
  render(<Page />, root);
}
