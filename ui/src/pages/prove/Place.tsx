import { type ReactNode, useState } from "react";

import { path } from "../../data/api";
import type { NamedFinding } from "../../data/findings";
import { useJob } from "../../data/job";
import { words } from "../../words";

/** The finding's place in section, drawn to scale: fetched when somebody wants to see it, or opens the finding. */
export function Place({ finding, proof, open }: { finding: NamedFinding; proof: number; open: boolean }): ReactNode {
  const { name } = useJob();
  const [wanted, want] = useState<boolean>();
  if (!finding.pictured) return null;
  const shown = wanted ?? open;
  const address = path("GET /api/jobs/{job}/pictures/{finding}", { at: { job: name, finding: finding.name }, query: { proof } });
  return (
    <details className="place-drawn" open={shown} onToggle={(event) => want(event.currentTarget.open)}>
      <summary>{words.prove.place}</summary>
      {shown && <img src={address} alt={words.prove.placeSaid(finding.text)} width={440} height={508} loading="lazy" />}
    </details>
  );
}
