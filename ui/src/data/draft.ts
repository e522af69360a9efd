// What somebody types is kept in the browser until the server has it: a lost connection, a reload, an empty battery lose nothing.

import { useCallback, useState } from "react";

const PREFIX = "setwright.draft.";

/** What is kept under a key; undefined if there is nothing or the browser keeps nothing. */
export function kept(key: string): string | undefined {
  try {
    return localStorage.getItem(PREFIX + key) ?? undefined;
  } catch {
    return undefined; // a browser that was told to keep nothing: typing works, it is only not kept
  }
}

/** Keep a text, or forget it. */
export function keep(key: string, text: string | undefined): void {
  try {
    if (text === undefined) localStorage.removeItem(PREFIX + key);
    else localStorage.setItem(PREFIX + key, text);
  } catch {
    // as above
  }
}

/** A text that is being typed. `clear` when the server has it. */
export function useDraft(key: string, initial = ""): [text: string, type: (text: string) => void, clear: () => void] {
  const [held, setHeld] = useState<{ key: string; text: string }>(() => ({ key, text: kept(key) ?? initial }));
  let current = held;
  if (held.key !== key) {
    current = { key, text: kept(key) ?? initial };
    setHeld(current);
  }
  const type = useCallback(
    (text: string) => {
      keep(key, text);
      setHeld({ key, text });
    },
    [key],
  );
  const clear = useCallback(() => {
    keep(key, undefined);
    setHeld({ key, text: initial });
  }, [key, initial]);
  return [current.text, type, clear];
}
