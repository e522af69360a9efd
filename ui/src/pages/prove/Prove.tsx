// Prove: what will happen to the metal. The verdict, what is wrong with its line and place, bench, strip and program kept in step.

import type { ReactNode } from "react";

import { write } from "../../data/api";
import type { NamedFinding } from "../../data/findings";
import { useJob } from "../../data/job";
import { jobOutdated, useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Calculating } from "../../parts/Calculating";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { useSending } from "../../parts/Statement";
import type { CalculationSaid, Findings as FindingsSaid } from "../../wire/api.gen";
import { words } from "../../words";
import { ProofShown } from "./ProofShown";

export default function Prove(): ReactNode {
  const { name, revision } = useJob();
  const found = useDocument("GET /api/jobs/{job}/findings", { at: { job: name } });
  const asked = useDocument("GET /api/jobs/{job}/calculations", { at: { job: name } });
  const findings = found.value?.document;
  const newest = asked.value?.document.calculations.find((one) => one.station === "prove" || one.station === "sheet");
  if (findings === undefined) {
    return found.error === undefined ? <p>{words.common.loading}</p> : <Problems error={found.error} onRetry={found.again} />;
  }
  const going = newest?.state === "waiting" || newest?.state === "working" ? newest : undefined;
  const { proof } = findings;
  return (
    <>
      {proof === null && <h1>{words.prove.notYet}</h1>}
      {proof !== null && !findings.current && <p className="changed">{words.prove.old(proof.revision, revision)}</p>}
      {going !== undefined ? (
        <Calculating job={name} number={going.id} what={words.prove.going} onEnd={() => jobOutdated(name)} />
      ) : (
        <>
          {newest !== undefined && <Ended newest={newest} />}
          {(proof === null || !findings.current) && <Start label={proof === null ? words.prove.start : words.prove.again} strong />}
        </>
      )}
      {proof !== null && <Shown key={proof.id} number={proof.id} findings={findings} />}
      {going === undefined && proof !== null && findings.current && (
        <div className="row">
          <SignOff station="prove" note={openDangers(findings.findings)} />
          <Start label={words.prove.again} />
        </div>
      )}
      <p className="faint">{words.common.caution}</p>
    </>
  );
}

/** How many findings at DANGER stand and were accepted by nobody. */
function openDangers(findings: readonly NamedFinding[]): string {
  const count = findings.filter((one) => one.signal === "DANGER" && one.accepted?.stands !== true).length;
  return count === 0 ? "" : words.prove.openDangers(count);
}

function Shown({ number, findings }: { number: number; findings: FindingsSaid }): ReactNode {
  const { name } = useJob();
  const { value, error, again } = useDocument("GET /api/jobs/{job}/proof", { at: { job: name }, query: { proof: number } });
  const document = value?.document.document;
  if (document === undefined || document === null) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  return <ProofShown proof={number} document={document} findings={findings.findings} current={findings.current} />;
}

/** How the last calculation ended, where that was not with a proof. */
function Ended({ newest }: { newest: CalculationSaid }): ReactNode {
  if (newest.state !== "refused" && newest.state !== "stopped" && newest.state !== "broken off") return null;
  return (
    <section className="problems">
      <p>{words.prove.ended[newest.state]}</p>
      {newest.said.length > 0 && <Findings findings={newest.said} />}
    </section>
  );
}

function Start({ label, strong = false }: { label: string; strong?: boolean }): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  if (!may("setter")) return null;
  const start = () => run(() => write("POST /api/jobs/{job}/calculations", { station: "prove", revision }, { at: { job: name } }));
  return (
    <div className={strong ? "work" : undefined}>
      <button type="button" className={strong ? "button" : "button plain"} disabled={busy} onClick={() => void start()}>
        {label}
      </button>
      {problems}
    </div>
  );
}
