// The colours of the stylesheet for what draws on a canvas; they change with light and dark.

import { useEffect, useState } from "react";

import type { Signal } from "./findings";

export interface ThemeColours {
  ink: string;
  faint: string;
  hair: string;
  sheet: string;
  paper: string;
  wash: string;
  rule: string;
  focus: string;
  dark: boolean;
  signal: Record<Signal, { ground: string; ink: string }>;
}

function current(): ThemeColours {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  const signal = (name: string) => ({ ground: of(name), ink: of(`${name}-ink`) });
  return {
    ink: of("ink"),
    faint: of("faint"),
    hair: of("hair"),
    sheet: of("sheet"),
    paper: of("paper"),
    wash: of("wash"),
    rule: of("rule"),
    focus: of("focus"),
    dark: document.documentElement.getAttribute("data-mantine-color-scheme") === "dark",
    signal: { DANGER: signal("danger"), WARNING: signal("warning"), CAUTION: signal("caution"), NOTICE: signal("notice") },
  };
}

/** The colours in force, anew when the person turns light to dark. */
export function useThemeColours(): ThemeColours {
  const [colours, setColours] = useState<ThemeColours>(current);
  useEffect(() => {
    const observer = new MutationObserver(() => setColours(current()));
    observer.observe(document.documentElement, { attributes: true, attributeFilter: ["data-mantine-color-scheme"] });
    return () => observer.disconnect();
  }, []);
  return colours;
}
