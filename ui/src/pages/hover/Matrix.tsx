import type { ReactNode } from "react";

import { decimals } from "../../units/units";
import type { StudyOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { checkTitle } from "./seen";

const SIDE = 22;
const MOST = 60;
const said = words.hover;

/** Slips down, checks across: a square as full as the check is sure. */
export function Matrix({ study }: { study: StudyOfSetup }): ReactNode {
  const harmless = new Set(["rework", "harmless"]);
  const slips = study.slips.filter((one) => !harmless.has(one.outcome)).slice(0, MOST);
  if (slips.length === 0 || study.checks.length === 0) return null;
  return (
    <details className="matrix" open={slips.length <= 20}>
      <summary>
        {said.matrix} ({slips.length} × {study.checks.length})
      </summary>
      <p className="faint">{said.matrixHow}</p>
      <div className="wide" tabIndex={0} role="region" aria-label={said.matrix}>
        <table className="ruled">
          <thead>
            <tr>
              <th scope="col">{said.slip}</th>
              <th scope="col">{said.ends}</th>
              <th scope="col">{said.often}</th>
              {study.checks.map((check, index) => (
                <th key={checkTitle(check)} scope="col">
                  <abbr title={checkTitle(check)}>{index + 1}</abbr>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {slips.map((slip) => (
              <tr key={`${slip.slug}${slip.words}`}>
                <th scope="row">{slip.words}</th>
                <td>{said.outcome[slip.outcome]}</td>
                <td>{said.inTen(slip.probability)}</td>
                {study.checks.map((check) => {
                  const caught = check.catches.find((one) => one.slug === slip.slug && one.text === slip.words)?.probability ?? 0;
                  return (
                    <td key={checkTitle(check)}>
                      <Cell share={caught} label={said.cell(checkTitle(check), `${decimals(100 * caught, 0)} %`)} />
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}

function Cell({ share, label }: { share: number; label: string }): ReactNode {
  return (
    <svg width={SIDE} height={SIDE} viewBox={`0 0 ${SIDE} ${SIDE}`} role="img" aria-label={label} className="cell">
      <rect x="1" y="1" width={SIDE - 2} height={SIDE - 2} className="cell-frame" />
      <rect x="1" y={1 + (SIDE - 2) * (1 - share)} width={SIDE - 2} height={(SIDE - 2) * share} className="cell-full" />
    </svg>
  );
}
