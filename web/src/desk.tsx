// The whole window: one page, and the strip at its foot.
import { useEffect } from "preact/hooks";
import { Bench } from "./bench";
import { FailPage } from "./fail";
import { BookPage } from "./book";
import { BriefPage } from "./brief";
import { Find } from "./find";
import { Log } from "./log";
import { is_out, me } from "./me";
import { PanelPage } from "./panel";
import { People } from "./people";
import { AircraftPage } from "./panes";
import { Proof } from "./proof";
import { SheetPage } from "./sheet";
import { SignIn } from "./signin";
import { current_job, finding, message, place } from "./state";
import { Strip } from "./strip";
import { TablePage } from "./table";
import { Today } from "./today";
import { undo, redo } from "./change";

function keys(event: KeyboardEvent): void {
  const typing =
    event.target instanceof HTMLInputElement || event.target instanceof HTMLTextAreaElement;
  const command = event.ctrlKey || event.metaKey;
  if ((event.key === "/" && !typing) || (command && event.key === "k")) {
    event.preventDefault();
    finding.value = true;
  } else if (event.key === "Escape") {
    finding.value = false;
    message.value = "";
  } else if (command && !typing && event.key.toLowerCase() === "z" && current_job.value !== "") {
    event.preventDefault();
    void (event.shiftKey ? redo() : undo());
  }
}

function Page() {
  switch (place.value.kind) {
    case "today":
      return <Today />;
    case "people":
      return <People />;
    case "sheet":
      return <SheetPage />;
    case "table":
      return <TablePage />;
    case "panel":
      return <PanelPage />;
    case "proof":
      return <Proof />;
    case "log":
      return <Log />;
    case "aircraft":
      return <AircraftPage />;
    case "fail":
      return <FailPage />;
    case "brief":
      return <BriefPage />;
    case "book":
      return <BookPage />;
    case "bench":
      return <Bench />;
  }
}

export function Desk() {
  useEffect(() => {
    addEventListener("keydown", keys);
    return () => removeEventListener("keydown", keys);
  }, []);
  if (is_out.value) {
    return <SignIn />;
  }
  if (me.value === null && place.value.kind !== "bench") { // the bench works without the desk
    return <p class="plain">{message.value || "Asking the desk ..."}</p>;
  }
  return (
    <>
      <div class="page">
        <Page />
      </div>
      {finding.value && <Find />}
      <Strip />
    </>
  );
}
