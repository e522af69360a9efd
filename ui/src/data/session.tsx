// Who sits here, and how they want it: name, role, brightness, unit of length. Kept in the browser under the person's name.

import { createContext, type ReactNode, useCallback, useContext, useEffect, useMemo, useState } from "react";

import type { LengthUnit } from "../units/units";
import type { Role, SessionSaid } from "../wire/api.gen";
import { Away, onSignedOut, read, reached, Refused, takeToken } from "./api";
import { keep, kept } from "./draft";
import { JobContext } from "./job";

export type { Role };
const RANK: readonly Role[] = ["viewer", "setter", "lead", "administrator"];

export interface Session {
  /** undefined while nobody is signed in. */
  who: SessionSaid | undefined;
  /** False until the server has said who is asking. */
  known: boolean;
  may: (role: Role) => boolean;
  /** The unit lengths are shown in here: the person's, or that of the job the page is about. */
  unit: LengthUnit;
  unitChoice: UnitChoice;
  chooseUnit: (choice: UnitChoice) => void;
  /** Ask the server again: after signing in or out. */
  again: () => Promise<void>;
}

export type UnitChoice = "job" | LengthUnit;

const SessionContext = createContext<Omit<Session, "unit"> | undefined>(undefined);
const RETRY_MS = 1500;

/** The session of this page. */
export function useSession(): Session {
  const found = useContext(SessionContext);
  const job = useContext(JobContext);
  if (found === undefined) throw new Error("there is no session around this");
  const own: LengthUnit = job?.job.document["units"] === "in" ? "inch" : "mm";
  return { ...found, unit: found.unitChoice === "job" ? own : found.unitChoice };
}

export function SessionProvider({ children }: { children: ReactNode }): ReactNode {
  const [who, setWho] = useState<SessionSaid>();
  const [known, setKnown] = useState(false);
  const [unitChoice, setUnitHeld] = useState<UnitChoice>("job");

  const again = useCallback(async (): Promise<void> => {
    try {
      const { document } = await read("GET /api/session");
      takeToken(document.token);
      setWho(document);
      const choice = kept(`unit.${document.name}`);
      setUnitHeld(choice === "inch" || choice === "mm" ? choice : "job");
      setKnown(true);
    } catch (error) {
      if (error instanceof Refused && error.status === 401) {
        setWho(undefined);
        setKnown(true);
      } else if (error instanceof Away) {
        setTimeout(() => void again(), RETRY_MS);
      } else {
        throw error;
      }
    }
  }, []);

  useEffect(() => {
    void again();
  }, [again]);
  useEffect(() => watchServer(again), [again]);
  useEffect(() => onSignedOut(() => void again()), [again]);

  const chooseUnit = useCallback(
    (wanted: UnitChoice) => {
      if (who !== undefined) keep(`unit.${who.name}`, wanted);
      setUnitHeld(wanted);
    },
    [who],
  );
  const session = useMemo<Omit<Session, "unit">>(
    () => ({
      who,
      known,
      unitChoice,
      chooseUnit,
      again,
      may: (role) => who !== undefined && RANK.indexOf(who.role) >= RANK.indexOf(role),
    }),
    [who, known, unitChoice, chooseUnit, again],
  );
  return <SessionContext.Provider value={session}>{children}</SessionContext.Provider>;
}

/** The browser's own word about the network: try at once when it is back, and learn the token of a server that started anew. */
function watchServer(again: () => Promise<void>): () => void {
  const online = (): void => void again();
  const offline = (): void => reached(false);
  window.addEventListener("online", online);
  window.addEventListener("offline", offline);
  return () => {
    window.removeEventListener("online", online);
    window.removeEventListener("offline", offline);
  };
}
