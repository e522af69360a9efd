import { type FormEvent, type ReactNode, useId } from "react";

import { write } from "../../data/api";
import { useDraft } from "../../data/draft";
import type { NamedFinding } from "../../data/findings";
import { useJob } from "../../data/job";
import { useSession } from "../../data/session";
import { useSending } from "../../parts/Statement";
import { words } from "../../words";

/** What was said about a finding, and for whoever may, the form to accept it with a reason and a last day. */
export function Acceptance({ finding, current }: { finding: NamedFinding; current: boolean }): ReactNode {
  const { may } = useSession();
  const { accepted } = finding;
  if (accepted !== null && accepted.stands) {
    return <p className="faint">{words.prove.accepted(accepted.by, String(accepted.body["until"] ?? ""), String(accepted.body["reason"] ?? ""))}</p>;
  }
  return (
    <>
      {accepted !== null && <p className="faint">{`${words.prove.fallen} ${accepted.why}`}</p>}
      {current && may("lead") && <AcceptForm finding={finding} />}
    </>
  );
}

function AcceptForm({ finding }: { finding: NamedFinding }): ReactNode {
  const { name, revision } = useJob();
  const id = useId();
  const [reason, setReason, clearReason] = useDraft(`accept.${name}.${finding.name}.reason`);
  const [until, setUntil, clearUntil] = useDraft(`accept.${name}.${finding.name}.until`);
  const { busy, run, problems } = useSending(name);
  const send = async (event: FormEvent): Promise<void> => {
    event.preventDefault();
    const body = { finding: finding.name, reason, until };
    if (await run(() => write("POST /api/jobs/{job}/accepted", body, { at: { job: name }, basedOn: revision }))) {
      clearReason();
      clearUntil();
    }
  };
  return (
    <details className="accept">
      <summary>{words.prove.accept}</summary>
      <form onSubmit={(event) => void send(event)}>
        <label htmlFor={`${id}reason`}>{words.prove.acceptReason}</label>
        <input id={`${id}reason`} className="input" required value={reason} onChange={(event) => setReason(event.target.value)} />
        <label htmlFor={`${id}until`}>{words.prove.acceptUntil}</label>
        <input id={`${id}until`} className="input" type="date" required value={until} onChange={(event) => setUntil(event.target.value)} />
        <button type="submit" className="button" disabled={busy}>
          {words.prove.acceptSend}
        </button>
        {problems}
      </form>
    </details>
  );
}
