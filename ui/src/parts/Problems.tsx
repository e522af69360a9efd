import type { ReactNode } from "react";

import { Away, type Problem, Refused } from "../data/api";
import { words } from "../words";

/** A refusal in the server's own words: what, where, what to do. A server that is away is said at the top of the page already. */
export function Problems({ error, onRetry }: { error: Error | undefined; onRetry?: () => void }): ReactNode {
  if (error === undefined || error instanceof Away) return null;
  const problems: readonly Problem[] =
    error instanceof Refused ? error.problems : [{ text: error.message, remedy: "", file: "", line: null, column: null }];
  return (
    <div role="alert" className="problems">
      {problems.map((one, index) => (
        <p key={index}>
          {one.file !== "" && <code>{one.line === null ? one.file : words.common.line(one.file, one.line)}</code>} <strong>{one.text}</strong>
          {one.remedy !== "" && <span className="remedy">{one.remedy}</span>}
        </p>
      ))}
      {onRetry !== undefined && (
        <button type="button" className="button" onClick={onRetry}>
          {words.common.retry}
        </button>
      )}
    </div>
  );
}
