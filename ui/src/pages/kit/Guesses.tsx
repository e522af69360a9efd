import type { ReactNode } from "react";

import { address, Link } from "../../app/router";
import { write } from "../../data/api";
import { useJob } from "../../data/job";
import { useSession } from "../../data/session";
import { useSending } from "../../parts/Statement";
import { words } from "../../words";

interface Guess {
  setup: string;
  what: string;
  evidence: string;
}

/** What nobody said and the draft took anyway: each is checked, put right where it stands, and settled. */
export function Guesses({ setup }: { setup: string }): ReactNode {
  const { name, job } = useJob();
  const { may } = useSession();
  const guesses = (job.document["guess"] as Guess[]).filter((one) => one.setup === setup);
  if (guesses.length === 0) return null;
  return (
    <section>
      <h2>{words.kit.guesses(guesses.length)}</h2>
      <p>
        {words.kit.guessesHow} <Link to={address("/jobs/:job/files", { job: name })}>{words.kit.toFiles}</Link>
      </p>
      <ul className="guesses">
        {guesses.map((one) => (
          <Line key={one.what} guess={one} may={may("setter")} />
        ))}
      </ul>
    </section>
  );
}

function Line({ guess, may }: { guess: Guess; may: boolean }): ReactNode {
  const { name, revision } = useJob();
  const { busy, run, problems } = useSending(name);
  const settle = (): void =>
    void run(() =>
      write("POST /api/jobs/{job}/guesses/settled", { setup: guess.setup, what: guess.what }, { at: { job: name }, basedOn: revision }),
    );
  return (
    <li>
      <p>
        <strong>{guess.what}</strong> <span className="faint">{guess.evidence}</span>
      </p>
      {may && (
        <button type="button" className="button plain" disabled={busy} aria-label={words.kit.settleOf(guess.what)} onClick={settle}>
          {words.kit.settle}
        </button>
      )}
      {problems}
    </li>
  );
}
