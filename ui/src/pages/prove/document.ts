// The proof as the server's document; the keys this page shows.

import type { Finding, NamedFinding } from "../../data/findings";

export interface Clearance {
  bodies: [string, string];
  least_mm: number;
  margin_mm: number | null;
  on_tool: [number, number, number] | null;
  on_body: [number, number, number] | null;
  file: string;
  line: number;
  tool: number;
  motion: number;
}

export interface Contact {
  bodies: [string, string];
  depth_mm: number;
  at: [number, number, number] | null;
  file: string;
  line: number;
  tool: number;
  motion: number;
}

export interface Feature {
  name: string;
  nominal: number;
  simulated: number | null;
  deviation: number | null;
  tolerance: [number, number] | null;
  state: "in" | "out" | "undecided";
  why: string;
}

export interface SetupProof {
  setup: string;
  verdict: string;
  offsets_from: string;
  blank_mm3: number;
  removed_mm3: number;
  removed_by_tool: Record<string, number>;
  contacts: Contact[];
  clearance: Clearance[];
  features: Feature[];
  load: Array<{ tool: number; mrr_mm3_min: number | null }>;
  time_s: number | null;
  time_by_tool: Record<string, number>;
  guesses: string[];
}

export interface ProofDocument {
  verdict: string;
  setups: SetupProof[];
  findings: Finding[];
}

export interface FindingsDocument {
  proof: { id: number; revision: number; setup: string } | null;
  current: boolean;
  verdict: string;
  findings: NamedFinding[];
}

export interface CalculationLine {
  id: number;
  station: string;
  state: "waiting" | "working" | "done" | "refused" | "stopped" | "broken off";
  said: Finding[];
}
