// Made by ui/wire.py from the server's description of its addresses; change the models there instead.

/** A finding of the newest proof, by its `name`; why it is accepted, and the last day that holds. */
export interface Acceptance {
  finding: string;
  reason: string;
  until: string;
}

export interface Body_post_import_api_jobs_import_post {
  /** The folder as a ZIP file. */
  folder: string;
  name?: string;
}

export interface Body_post_jobs_api_jobs_post {
  /** Part programs as they are on the machine. */
  programs: Array<string>;
  /** The job's name; made from the first program's if not given. */
  name?: string;
}

/** Long work on the newest revision, or on the one named. What is left out takes the station's own … */
export interface CalculationAsked {
  station: string;
  setup?: string;
  revision?: number | null;
  pitch_mm?: number | null;
  until?: string | null;
  nominal?: boolean;
  paper?: string | null;
  units?: string | null;
}

/** A check of the plan that was done, and what was seen or read. */
export interface CheckDone {
  check: string;
  setup?: string;
  seen?: string;
}

/** A name and its password. */
export interface Credentials {
  name: string;
  password: string;
}

/** Texts of several files changed together; null takes a file out. */
export interface FileChanges {
  files: Record<string, string | null>;
  note?: string;
}

export interface HTTPValidationError {
  detail?: Array<ValidationError>;
}

/** Somebody new. */
export interface NewPerson {
  name: string;
  password: string;
  role: Role;
}

/** What changes; what is left out stays. */
export interface PersonChange {
  role?: Role | null;
  password?: string | null;
  active?: boolean | null;
}

/** The job ran as the record has it. */
export interface RanOnMachine {
  pieces: number;
  setup?: string;
  note?: string;
}

/** One reading with the keys of readings.toml. */
export interface ReadingGiven {
  reading: Record<string, unknown>;
}

/** The two lists of a readings.toml. */
export type ReadingKind = "contact" | "tool_length";

/** Something for whoever comes next. */
export interface Remark {
  text: string;
  setup?: string;
}

/** What a person may do; each may do everything the ones before may. */
export type Role = "viewer" | "setter" | "lead" | "administrator";

/** A station, for one setup or for all. */
export interface SignOff {
  station: string;
  setup?: string;
}

/** A touch-off to solve without keeping anything: the text of a readings.toml, for one setup. */
export interface TouchAsked {
  setup: string;
  readings: string;
}

export interface ValidationError {
  loc: Array<string | number>;
  msg: string;
  type: string;
  input?: unknown;
  ctx?: Record<string, unknown>;
}

/** An entry taken back. */
export interface Withdrawal {
  entry: number;
  reason?: string;
}

/** What each address answers. */
export interface Answers {
  "GET /api/audit": unknown;
  "GET /api/calculations/{number}": unknown;
  "DELETE /api/calculations/{number}": unknown;
  "GET /api/calculations/{number}/events": null;
  "GET /api/jobs": unknown;
  "POST /api/jobs": unknown;
  "POST /api/jobs/import": unknown;
  "GET /api/jobs/{job}": unknown;
  "PATCH /api/jobs/{job}": unknown;
  "POST /api/jobs/{job}/accepted": unknown;
  "GET /api/jobs/{job}/calculations": unknown;
  "POST /api/jobs/{job}/calculations": unknown;
  "GET /api/jobs/{job}/changes": unknown;
  "POST /api/jobs/{job}/checks": unknown;
  "GET /api/jobs/{job}/events": null;
  "GET /api/jobs/{job}/file": unknown;
  "PUT /api/jobs/{job}/file": unknown;
  "DELETE /api/jobs/{job}/file": unknown;
  "GET /api/jobs/{job}/findings": unknown;
  "GET /api/jobs/{job}/folder": unknown;
  "GET /api/jobs/{job}/history": unknown;
  "GET /api/jobs/{job}/kit": unknown;
  "GET /api/jobs/{job}/moment": null;
  "GET /api/jobs/{job}/path": null;
  "GET /api/jobs/{job}/read": unknown;
  "GET /api/jobs/{job}/readings": unknown;
  "POST /api/jobs/{job}/readings/{kind}": unknown;
  "PUT /api/jobs/{job}/readings/{kind}/{number}": unknown;
  "DELETE /api/jobs/{job}/readings/{kind}/{number}": unknown;
  "POST /api/jobs/{job}/remarks": unknown;
  "GET /api/jobs/{job}/results": unknown;
  "GET /api/jobs/{job}/results/{result}": null;
  "GET /api/jobs/{job}/revisions": unknown;
  "POST /api/jobs/{job}/runs": unknown;
  "POST /api/jobs/{job}/signed": unknown;
  "GET /api/jobs/{job}/since-last-run": unknown;
  "GET /api/jobs/{job}/statements": unknown;
  "GET /api/jobs/{job}/strip": null;
  "GET /api/jobs/{job}/touch": unknown;
  "POST /api/jobs/{job}/touch": unknown;
  "GET /api/jobs/{job}/track": null;
  "POST /api/jobs/{job}/withdrawn": unknown;
  "GET /api/people": unknown;
  "POST /api/people": unknown;
  "PATCH /api/people/{name}": unknown;
  "GET /api/session": unknown;
  "POST /api/session": unknown;
  "DELETE /api/session": null;
  "GET /api/shop": unknown;
  "GET /api/shop/{kind}/{name}": unknown;
  "PUT /api/shop/{kind}/{name}": unknown;
  "DELETE /api/shop/{kind}/{name}": unknown;
  "GET /api/shop/{kind}/{name}/revisions": unknown;
}

/** What is sent to each address that takes a document. */
export interface Bodies {
  "PATCH /api/jobs/{job}": FileChanges;
  "POST /api/jobs/{job}/accepted": Acceptance;
  "POST /api/jobs/{job}/calculations": CalculationAsked;
  "POST /api/jobs/{job}/checks": CheckDone;
  "POST /api/jobs/{job}/readings/{kind}": ReadingGiven;
  "PUT /api/jobs/{job}/readings/{kind}/{number}": ReadingGiven;
  "POST /api/jobs/{job}/remarks": Remark;
  "POST /api/jobs/{job}/runs": RanOnMachine;
  "POST /api/jobs/{job}/signed": SignOff;
  "POST /api/jobs/{job}/touch": TouchAsked;
  "POST /api/jobs/{job}/withdrawn": Withdrawal;
  "POST /api/people": NewPerson;
  "PATCH /api/people/{name}": PersonChange;
  "POST /api/session": Credentials;
}
