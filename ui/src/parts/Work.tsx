// Long work that a page starts: its button, how far it is, and why it ended without an answer.

import type { ReactNode } from "react";

import { write } from "../data/api";
import { useJob } from "../data/job";
import { jobOutdated, useDocument } from "../data/resource";
import { useSession } from "../data/session";
import type { CalculationAsked, CalculationSaid } from "../wire/api.gen";
import { words } from "../words";
import { Calculating } from "./Calculating";
import { Findings } from "./Findings";
import { useSending } from "./Statement";

interface Props {
  asked: CalculationAsked;
  label: string;
  going: string;
  /** Whether this is the page's main work. */
  strong?: boolean;
  disabled?: boolean;
}

/** The button that starts a station's work on the revision that is shown; while it goes on, how far it is. */
export function Work({ asked, label, going, strong = false, disabled = false }: Props): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const { value } = useDocument("GET /api/jobs/{job}/calculations", { at: { job: name } });
  const same = (one: CalculationSaid): boolean =>
    one.station === asked.station && one.setup === (asked.setup ?? "") && "seen" in one.options === (asked.seen !== undefined);
  const newest = value?.document.calculations.find(same);
  if (newest !== undefined && (newest.state === "waiting" || newest.state === "working")) {
    return <Calculating job={name} number={newest.id} what={going} onEnd={() => jobOutdated(name)} />;
  }
  const failed = newest !== undefined && newest.state !== "done" && newest.said.length > 0;
  return (
    <div className="work">
      {failed && <Findings findings={newest.said} label={words.prove.ended[newest.state as keyof typeof words.prove.ended] ?? newest.state} />}
      {may("setter") && (
        <button
          type="button"
          className={strong ? "button" : "button plain"}
          disabled={busy || disabled}
          onClick={() => void run(() => write("POST /api/jobs/{job}/calculations", { ...asked, revision }, { at: { job: name } }))}
        >
          {label}
        </button>
      )}
      {problems}
    </div>
  );
}
