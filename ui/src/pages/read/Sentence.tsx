import type { ReactNode } from "react";

import { counted } from "../../data/findings";
import { useJob } from "../../data/job";
import { useDocument } from "../../data/resource";
import { decimals, duration, seconds } from "../../units/units";
import type { ReadOfSetup } from "../../wire/api.gen";
import { words } from "../../words";

/** What the programs of all setups ask for together, and how many findings there are. */
export default function Sentence(): ReactNode {
  const { name, revision } = useJob();
  const { value } = useDocument("GET /api/jobs/{job}/read", { at: { job: name }, query: { revision }, lasting: true });
  const read = value?.document;
  if (read === undefined) return null;
  const sum = (of: (setup: ReadOfSetup) => number): number => read.setups.reduce((total, one) => total + of(one), 0);
  const time = read.setups.some((one) => one.time_s === null) ? null : seconds(sum((one) => one.time_s ?? 0));
  const found = counted(read.findings).map(([word, count]) => words.findings.count(word, count));
  return (
    <>
      {words.read.answer(sum((one) => one.tools.length), decimals(sum((one) => one.motions), 0), duration(time))} {found.join(", ")}
    </>
  );
}
