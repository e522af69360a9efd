import type { ReactNode } from "react";

import { write } from "../data/api";
import { useJob } from "../data/job";
import { useSession } from "../data/session";
import { moment } from "../units/units";
import { words } from "../words";
import { useSending } from "./Statement";

/**
 * Who signed this station, and the button for whoever may. A signature stands for the revision that was looked at. `note`: what whoever
 * signs must know.
 */
export function SignOff({ station, note = "" }: { station: string; note?: string }): ReactNode {
  const { name, revision, job } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const line = job.route_card.find((one) => one.station === station);
  const signed = line?.signed.filter((one) => one.stands) ?? [];
  return (
    <section className="sign-off" aria-label={words.common.signing}>
      {signed.map((one) => (
        <p key={one.by + one.at}>{words.card.signedBy(one.by, moment(one.at), one.setup)}</p>
      ))}
      {signed.length === 0 && may("lead") && (
        <>
          {note !== "" && (
            <p>
              <strong>{note}</strong>
            </p>
          )}
          <p className="faint">{words.common.signMeans(revision, falls(station))}</p>
          <button
            type="button"
            className="button"
            disabled={busy}
            onClick={() => void run(() => write("POST /api/jobs/{job}/signed", { station }, { at: { job: name }, basedOn: revision }))}
          >
            {words.common.sign(words.common.station[station as keyof typeof words.common.station])}
          </button>
        </>
      )}
      {problems}
    </section>
  );
}

/** What may change without the signature of a station falling. */
function falls(station: string): string {
  if (station === "read" || station === "kit") return words.common.butReadings;
  return station === "piece" || station === "run" ? "" : words.common.butMeasured;
}
