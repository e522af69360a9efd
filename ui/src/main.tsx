import "./styles/all.css";

import { createRoot } from "react-dom/client";

import { App } from "./app/App";

// A server that was brought up to date has pages of other names: what this page was about to fetch is gone. Loaded anew it is whole
// again, with whatever was typed; but never twice within a minute, so that a page that is really missing is said so.
const RELOADED = "setwright.reloaded";
const ONCE_MS = 60_000;
window.addEventListener("vite:preloadError", () => {
  try {
    if (Date.now() - Number(sessionStorage.getItem(RELOADED) ?? 0) < ONCE_MS) return;
    sessionStorage.setItem(RELOADED, String(Date.now()));
  } catch {
    return; // a browser that keeps nothing: the fault is shown, with the button that loads it again
  }
  window.location.reload();
});

const root = document.getElementById("root");
if (root === null) throw new Error("the page has no place for the pages");
createRoot(root).render(<App />);
