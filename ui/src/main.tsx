import "./styles/all.css";

import { createRoot } from "react-dom/client";

import { App } from "./app/App";

const root = document.getElementById("root");
if (root === null) throw new Error("the page has no place for the pages");
createRoot(root).render(<App />);
