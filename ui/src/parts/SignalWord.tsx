import type { ReactNode } from "react";

import type { Signal } from "../data/findings";

/** The sign of a signal word: a triangle with a mark where somebody or something can be hurt, a square for a notice. */
export function SignalSign({ signal, size = 20 }: { signal: Signal; size?: number }): ReactNode {
  const box = { width: size, height: size, viewBox: "0 0 20 20", "aria-hidden": true } as const;
  if (signal === "NOTICE") {
    return (
      <svg {...box} className="sign notice">
        <rect x="1.5" y="1.5" width="17" height="17" className="sign-ground" />
        <path d="M10 8.5v7M10 4.2v2.2" className="sign-mark" />
      </svg>
    );
  }
  return (
    <svg {...box} className={`sign ${signal.toLowerCase()}`}>
      <path d="M10 1.2L19.2 18.2H0.8z" className="sign-ground" />
      <path d="M10 6.6v6M10 14v2.2" className="sign-mark" />
    </svg>
  );
}

/** The signal word itself on its ground, with its sign. */
export function SignalWord({ signal }: { signal: Signal }): ReactNode {
  return (
    <span className={`signal ${signal.toLowerCase()}`}>
      {signal !== "NOTICE" && <SignalSign signal={signal} size={16} />}
      {signal}
    </span>
  );
}
