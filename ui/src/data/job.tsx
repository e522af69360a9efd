// The job a page is about: its revision, document and route card, fetched once for everything on the page.

import { createContext, useContext } from "react";

export interface Signature {
  by: string;
  at: string;
  setup: string;
  stands: boolean;
}

export interface StationLine {
  station: string;
  state: "open" | "signed" | "needs a look";
  text: string;
  signed: Signature[];
}

export interface RevisionPlain {
  job: string;
  number: number;
  title: string;
  by: string;
  at: string;
  note: string;
  /** The folder of the job inside its files, "" if they begin there. */
  home: string;
}

export interface JobDocument {
  revision: RevisionPlain;
  document: { setup: Array<{ name: string; programs: string[] }>; [key: string]: unknown };
  route_card: StationLine[];
}

export interface OpenJob {
  name: string;
  revision: number;
  job: JobDocument;
  setups: readonly string[];
}

export const JobContext = createContext<OpenJob | undefined>(undefined);

/** The job of this page. */
export function useJob(): OpenJob {
  const found = useContext(JobContext);
  if (found === undefined) throw new Error("this page is about no job");
  return found;
}
