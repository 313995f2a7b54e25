import { render } from "preact";
import { Desk } from "./desk";
import { start } from "./state";

const root = document.getElementById("desk");
if (root) {
  render(<Desk />, root);
  void start();
}
