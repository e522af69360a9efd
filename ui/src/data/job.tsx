// The job a page is about: its revision, document and route card, fetched once for everything on the page.

import { createContext, useContext } from "react";

import type { JobSaid, StationOfCard } from "../wire/api.gen";

export type StationLine = StationOfCard;

export interface SetupOfDocument {
  name: string;
  programs: string[];
}

/** The job's document is that of the job folder; its setups are the part of it that these pages look at. */
export interface JobDocument extends JobSaid {
  document: { setup: SetupOfDocument[]; [key: string]: unknown };
}

export interface OpenJob {
  name: string;
  revision: number;
  job: JobDocument;
  setups: readonly string[];
  /** The programs of a setup, in their order. */
  programs: (setup: string) => readonly string[];
}

export const JobContext = createContext<OpenJob | undefined>(undefined);

/** The job of this page. */
export function useJob(): OpenJob {
  const found = useContext(JobContext);
  if (found === undefined) throw new Error("this page is about no job");
  return found;
}
