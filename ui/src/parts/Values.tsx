// The values of a text in fields of their own, and the text itself for everything else.

import type { ReactNode } from "react";

import { valuesIn, withValue } from "../data/lines";
import { words } from "../words";

interface Props {
  text: string;
  /** Hears the text with what was typed; without it nothing can be typed. */
  onType: ((text: string) => void) | undefined;
}

interface Fields extends Props {
  /** Tables that are not for typing in. */
  without?: (section: string) => boolean;
}

/** Each value of the form key = value in a field, table by table, with the comment that stands at it. */
export function Values({ text, onType, without }: Fields): ReactNode {
  const values = valuesIn(text).filter((one) => !(one.section === "" && one.key === "format") && without?.(one.section) !== true);
  const sections = [...new Set(values.map((one) => one.section))];
  return (
    <>
      {sections.map((section) => (
        <fieldset key={section} className="values">
          {section !== "" && <legend>{section}</legend>}
          {values
            .filter((one) => one.section === section)
            .map((one) => (
              <label key={one.line} className="value-field">
                <span>{one.key.replaceAll("_", " ")}</span>
                <input
                  className="input"
                  autoComplete="off"
                  aria-label={words.shop.fieldOf(section, one.key.replaceAll("_", " "))}
                  value={one.text}
                  readOnly={onType === undefined}
                  onChange={(event) => onType?.(withValue(text, one, event.target.value))}
                />
                {one.note !== "" && <span className="faint value-note">{one.note}</span>}
              </label>
            ))}
        </fieldset>
      ))}
    </>
  );
}

/** The whole text, for what has no field. */
export function AsText({ text, onType, label, open = false }: Props & { label: string; open?: boolean }): ReactNode {
  return (
    <details open={open}>
      <summary>{label}</summary>
      <textarea
        className="input mono as-text"
        aria-label={label}
        rows={Math.min(30, text.split("\n").length + 2)}
        value={text}
        readOnly={onType === undefined}
        spellCheck={false}
        onChange={(event) => onType?.(event.target.value)}
      />
    </details>
  );
}
