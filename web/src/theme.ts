// Light: as the machine says, or by hand: light, dark, or bright for a hangar door that stands open
// (black on white, thicker lines, larger type). Kept by the browser.
import { effect, signal } from "@preact/signals";

export const THEMES = ["as the machine", "light", "dark", "bright"] as const;
export type Theme = (typeof THEMES)[number];

function kept(): Theme {
  try {
    const word = localStorage.getItem("marling-light");
    return THEMES.find((one) => one === word) ?? "as the machine";
  } catch {
    return "as the machine"; // a browser that keeps nothing
  }
}

export const theme = signal<Theme>(kept());

effect(() => {
  document.documentElement.dataset["light"] = theme.value.replaceAll(" ", "-");
  try {
    localStorage.setItem("marling-light", theme.value);
  } catch {
    // not kept: it holds as long as the page is open
  }
});

export function next_theme(): void {
  theme.value = THEMES[(THEMES.indexOf(theme.value) + 1) % THEMES.length] ?? "as the machine";
}
