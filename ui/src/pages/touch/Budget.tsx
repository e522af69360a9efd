import { type ReactNode } from "react";

import { decimals } from "../../units/units";
import type { Share } from "../../wire/api.gen";
import { words } from "../../words";

const LEAST = 0.01;
const WIDE = 90;

interface Props {
  of: string;
  shares: readonly Share[];
  unit: string;
}

/** Where the uncertainty of one number comes from: a bar per contribution, as long as its share of the variance. */
export function Budget({ of, shares, unit }: Props): ReactNode {
  const told = shares.filter((one) => one.share >= LEAST);
  const rest = shares.length - told.length;
  const places = unit === "in" ? 5 : 4;
  return (
    <section>
      <h2>{words.touch.budget}</h2>
      <table className="ruled budget">
        <caption className="budget-of">
          {words.touch.budgetOf} {of}
        </caption>
        <thead>
          <tr>
            <th scope="col">{words.touch.budgetColumn.source}</th>
            <th scope="col" colSpan={2}>
              {words.touch.budgetColumn.share}
            </th>
            <th scope="col" className="number">
              {words.touch.budgetColumn.standard}
            </th>
          </tr>
        </thead>
        <tbody>
          {told.map((one) => (
            <tr key={one.source}>
              <th scope="row">{one.source}</th>
              <td>
                <svg width={WIDE} height="18" viewBox={`0 0 ${WIDE} 18`} aria-hidden="true" className="bar">
                  <rect x="0" y="2" width={Math.max(1, WIDE * one.share)} height="14" />
                </svg>
              </td>
              <td className="number">{decimals(100 * one.share, 0)} %</td>
              <td className="number">
                {decimals(one.standard_uncertainty, places)} {unit}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {rest > 0 && <p className="faint">{words.touch.budgetRest(rest)}</p>}
    </section>
  );
}
