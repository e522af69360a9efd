import type { ReactNode } from "react";

import { remove } from "../data/api";
import { useCalculation } from "../data/live";
import { useSession } from "../data/session";
import { decimals, duration } from "../units/units";
import { words } from "../words";
import { useSending } from "./Statement";

interface Props {
  job: string;
  number: number;
  what: string;
  onEnd: () => void;
}

/** Long work as it goes on: what is being done, how far it is, the time left, and the button that ends it. */
export function Calculating({ job, number, what, onEnd }: Props): ReactNode {
  const { step } = useCalculation(number, onEnd);
  const { may } = useSession();
  const { busy, run, problems } = useSending(job);
  const share = step !== undefined && step.total > 0 ? step.done / step.total : undefined;
  const said = step === undefined ? words.common.waiting : words.common.step(step.what, `${decimals(100 * (share ?? 0), 0)} %`);
  const left = step?.left === undefined ? "" : words.common.left(duration(step.left));
  return (
    <section className="calculating" aria-label={what}>
      <p>
        <strong>{what}</strong> {said} {left}
      </p>
      <progress aria-label={what} max={1} {...(share === undefined ? {} : { value: share })} />
      {may("setter") && (
        <button
          type="button"
          className="button plain"
          disabled={busy}
          onClick={() => void run(() => remove("DELETE /api/calculations/{number}", { at: { number } }))}
        >
          {words.common.end}
        </button>
      )}
      {problems}
    </section>
  );
}
