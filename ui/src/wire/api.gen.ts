// Made by ui/wire.py from the server's description of its addresses; change the models there instead.

/** A finding of the newest proof, by its `name`; why it is accepted, and the last day that holds. */
export interface Acceptance {
  finding: string;
  reason: string;
  until: string;
}

/** The forecast of a piece: its level, and twice its standard deviation. */
export interface Ahead {
  piece: number;
  level: number;
  spread: number;
}

/** How the text was taken where it can be taken in several ways; `count` times. */
export interface Assumption {
  behaviour: string;
  reading: string;
  text: string;
  place: string;
  count: number;
}

/** Lines of the audit, the newest first. */
export interface Audit {
  lines: Array<AuditSaid>;
}

/** Who changed what, when, from which address. */
export interface AuditSaid {
  id: number;
  action: string;
  subject: string;
  address: string;
  by: string;
  at: string;
  detail: Record<string, unknown>;
}

/** Registers that what was measured does not tell apart, each with its share; what would tell them … */
export interface Blinded {
  registers: Record<string, number>;
  apart: string | null;
}

/** A body of the setup and its box. */
export interface BodySaid {
  name: string;
  role: string;
  min: [number, number, number];
  max: [number, number, number];
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

/** An end of where the holding may stand: how far from the place stated, the machine position in the … */
export interface BorderSaid {
  shift_mm: number;
  limit_mm: number;
  why: "travel" | "table";
  file: string;
  line: number;
  tool: number;
}

/** The lesser and the greater end along an axis; of a height a table has none. */
export interface BordersOfAxis {
  low: BorderSaid;
  high: BorderSaid;
}

/** A box by its corners. */
export interface Box {
  low: [number, number, number];
  high: [number, number, number];
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
  catch_percent?: number | null;
  within_min?: number | null;
  seen?: Array<string> | null;
  suppose?: Array<string> | null;
}

/** A calculation and its newest step. */
export interface CalculationNow {
  id: number;
  job: string;
  revision: number;
  station: string;
  setup: string;
  options: Record<string, unknown>;
  state: "waiting" | "working" | "done" | "refused" | "stopped" | "broken off";
  artefact_id: number | null;
  said: Array<FindingSaid>;
  by: string;
  at: string;
  ended_at: string | null;
  step: StepSaid | null;
}

/** Long work: where it stands, what it was asked, and at the end its last result or what was said. */
export interface CalculationSaid {
  id: number;
  job: string;
  revision: number;
  station: string;
  setup: string;
  options: Record<string, unknown>;
  state: "waiting" | "working" | "done" | "refused" | "stopped" | "broken off";
  artefact_id: number | null;
  said: Array<FindingSaid>;
  by: string;
  at: string;
  ended_at: string | null;
}

/** The calculations of a job, the newest first. */
export interface Calculations {
  calculations: Array<CalculationSaid>;
}

/** A tool (`number`, with what comments say of it), register or offset (`name`) called behind a stop, … */
export interface CalledUnread {
  number?: number | null;
  name?: string;
  description?: string;
  file: string;
  line: number;
}

/** Cp and Cpk with their 95 % intervals. */
export interface Capable {
  cp: number;
  cp_low: number;
  cp_high: number;
  cpk: number;
  cpk_low: number;
  cpk_high: number;
}

/** A slip a check shows, with the probability that it does. */
export interface CaughtBy {
  slug: string;
  text: string;
  outcome: "undecided" | "crash" | "broken tool" | "scrap" | "rework" | "harmless";
  probability: number;
}

/** One change between two revisions: the key, or the line, of a file; what it was and what it is … */
export interface Changed {
  file: string;
  what: string;
  before: string | null;
  after: string | null;
}

/** The changes from one revision to another. */
export interface Changes {
  changes: Array<Changed>;
}

/** A control chart; `rules`: by point those it breaks. */
export interface ChartSaid {
  kind: string;
  centre: number;
  sigma: number;
  stable: boolean | null;
  lower: Array<number>;
  upper: Array<number>;
  points: Array<number>;
  rules: Array<Array<string>>;
}

/** The charts of a feature, and whether its process is stable (null: too few points). */
export interface ChartsOf {
  feature: string;
  stable: boolean | null;
  capability: Capable | null;
  said: string;
  charts: Array<ChartSaid>;
}

/** A check of the plan that was done, and what was seen or read. */
export interface CheckDone {
  check: string;
  setup?: string;
  seen?: string;
}

/** A check to make, in the order of the plan. */
export interface CheckOfPlan {
  slug: string;
  on: string | number | null;
  name: string;
  minutes: number;
  do: string;
  needs: Array<string>;
  caution: string;
  stage: string | number;
  risk_share: number;
  catches: Array<CaughtBy>;
  sees: Array<Sight>;
}

/** A check that can be made on the setup, in the plan or not. */
export interface CheckThere {
  slug: string;
  on: string | number | null;
  name: string;
  sees: Array<Sight>;
}

/** How a clash is settled: `file` and `what` as the refusal named it, `theirs` as it was shown, which … */
export interface Chosen {
  file: string;
  what: string;
  theirs: string | null;
  take: "yours" | "theirs";
}

/** The least distance between a part of the tool and a body: between `least_mm` and `at_most_mm`, at … */
export interface ClearanceSaid {
  file: string;
  line: number;
  tool: number;
  motion: number;
  setup: string;
  bodies: [string, string];
  least_mm: number;
  at_most_mm: number;
  plus_minus_mm: number;
  margin_mm: number;
  on_tool: [number, number, number];
  on_body: [number, number, number];
}

/** How it ends, and the first line at which it shows (null where there is none). */
export interface ConsequenceSaid {
  outcome: "undecided" | "crash" | "broken tool" | "scrap" | "rework" | "harmless";
  text: string;
  file: string;
  first_line: number | null;
  lost_line: number | null;
  tool: number | null;
  part: string;
  body: string;
  value: number | null;
  requirement: string;
  speed_per_min: number | null;
  stopped: string;
}

/** A contact where it is on the part: `number` in its list from 1, `toward` the direction of the touch … */
export interface ContactDot {
  number: number;
  on: string;
  at: [number, number, number];
  toward: [number, number, number];
  instrument: string;
  shown: string;
  off_mm: number | null;
  odd: string;
}

/** A part of the tool meets what it must not. `bodies`: the tool's part and the body; `at` in W, null … */
export interface ContactSaid {
  file: string;
  line: number;
  tool: number;
  motion: number;
  setup: string;
  bodies: [string, string];
  depth_mm: number;
  at: [number | null, number | null, number | null];
  rapid: boolean;
  way: string;
  motions: number;
  deepest_line: number;
}

/** Centre line and control limits of single values. */
export interface Control {
  centre: number;
  lower: number;
  upper: number;
}

/** A name and its password. */
export interface Credentials {
  name: string;
  password: string;
}

/** An upright cylinder. */
export interface Cylinder {
  centre: [number, number];
  radius: number;
  bottom: number;
  top: number;
}

/** What explains what was seen; `settled`: nothing more needs to be looked at. */
export interface DiagnosisSaid {
  no_slip: number;
  unlisted: number;
  settled: boolean;
  ranked: Array<RankedSaid>;
  tells_apart: TellsApart | null;
  next_check: NextCheck | null;
}

/** A job made from programs, what was assumed for it, and the proof that was started. */
export interface Drafted {
  revision: RevisionSaid;
  guesses: Array<GuessSaid>;
  calculation: CalculationSaid;
}

/** A thing as it is being typed: a tool from the tip upward, or bodies, mm. */
export interface Drawn {
  tool: ToolShape | null;
  bodies: Array<Shape>;
}

/** Something somebody stated about a revision. `body`: what belongs to its kind. */
export interface EntrySaid {
  id: number;
  kind: "check done" | "finding accepted" | "signed off" | "ran" | "remark" | "withdrawn";
  revision: number;
  setup: string;
  subject: string;
  looked_at: string;
  body: Record<string, unknown>;
  by: string;
  at: string;
}

/** What in the text says how the control behaves. */
export interface Evidence {
  behaviour: string;
  reading: string;
  text: string;
  place: string;
}

/** A box. */
export interface Extent {
  min: [number, number, number];
  max: [number, number, number];
}

/** A face that can be touched: an upright bore or boss by its centre `at` and `diameter_mm`, a flat by … */
export interface FaceDrawn {
  name: string;
  kind: "bore" | "boss" | "flat";
  ways: Array<string>;
  made: boolean;
  held: boolean;
  at: [number, number, number | null];
  diameter_mm: number | null;
  half: [number, number, number] | null;
  facing: [number, number, number] | null;
}

/** A feature over the pieces, as the registers stand now: values, limits, control limits, forecast; … */
export interface FeaturePicture {
  numbers: Array<number>;
  values: Array<number>;
  limits: [number, number] | null;
  control: Control | null;
  due: number;
  gone: number | null;
  ahead: Array<Ahead>;
}

/** A requirement as it comes out: `found`, the share of the stated area on which its faces are there; … */
export interface FeatureSaid {
  name: string;
  setup: string;
  nominal: number;
  simulated: number | null;
  deviation: number | null;
  tolerance: [number, number] | null;
  bound: number;
  found: number;
  least: number | null;
  greatest: number | null;
  state: string;
  why: string;
}

/** The feed that would bring a load that is far off back to its band, and what that saves; never … */
export interface FeedAdviceSaid {
  feed_mm_min: number;
  to_mm_min: number;
  why: string;
  saves_s: number;
}

/** Texts of several files changed together; null takes a file out. `chosen` settles what clashes with … */
export interface FileChanges {
  files: Record<string, string | null>;
  note?: string;
  chosen?: Array<Chosen>;
}

/** A finding with the `name` by which it is accepted, and its acceptance; `pictured`: there is a … */
export interface FindingOfProof {
  slug: string;
  signal: "DANGER" | "WARNING" | "CAUTION" | "NOTICE";
  text: string;
  remedy: string;
  file: string;
  line: number;
  column: number;
  setup: string;
  tool: number | null;
  body: string;
  value: number | null;
  unit: string;
  state: "found" | "undecided";
  motion: number;
  excerpt: string;
  cause?: string;
  question?: boolean;
  told_with?: number | null;
  name: string;
  accepted: StandingSaid | null;
  pictured: boolean;
}

/** One thing a check says. `line` and `column` from 1, 0 for no place in a program; `motion` -1 for … */
export interface FindingSaid {
  slug: string;
  signal: "DANGER" | "WARNING" | "CAUTION" | "NOTICE";
  text: string;
  remedy: string;
  file: string;
  line: number;
  column: number;
  setup: string;
  tool: number | null;
  body: string;
  value: number | null;
  unit: string;
  state: "found" | "undecided";
  motion: number;
  excerpt: string;
  cause?: string;
  question?: boolean;
  told_with?: number | null;
}

/** The findings of the newest proof, worst first; `current`: it is of the newest revision. */
export interface Findings {
  proof: ResultSaid | null;
  current: boolean;
  verdict: string;
  findings: Array<FindingOfProof>;
}

/** What fixes an axis, and the sentence about it. */
export interface Fixed {
  by: string;
  text: string;
}

/** Where a feature stands, its limits, what is left, when to measure, in words. */
export interface FollowedSaid {
  stands: string;
  limits: string;
  left: string;
  due: string;
}

/** machine = rotation x work + shift. */
export interface Frame {
  rotation: [[number, number, number], [number, number, number], [number, number, number]];
  shift: [number, number, number];
}

/** A gauge of the shop on a feature: its expanded uncertainty, and between which readings a value is … */
export interface GaugeOn {
  gauge: string;
  name: string;
  uncertainty: number;
  good: [number, number] | null;
  said: string;
}

/** Something the draft assumed, and from what; the fields are those of model.job.Guess, lengths with … */
export interface GuessSaid {
  setup: string;
  what: string;
  evidence: string;
  key: string;
  file: string;
  line: number | null;
  low: Array<string>;
  high: Array<string>;
  faces: Array<string>;
}

/** A guess of the job's document, by its `setup` and `what`. */
export interface GuessSettled {
  setup: string;
  what: string;
}

export interface HTTPValidationError {
  detail?: Array<ValidationError>;
}

/** What habits of correcting cost on one feature over so many pieces: root mean square by habit. */
export interface HabitsSaid {
  feature: string;
  pieces: number;
  sigma: number;
  setting: number;
  spread: Record<string, number>;
}

/** One thing that happened to a job. */
export interface Happened {
  at: string;
  by: string;
  revision: number;
  what: "revision" | "entry" | "result";
  text: string;
  detail: Record<string, unknown>;
}

/** Everything that happened to a job, the first thing first. */
export interface History {
  events: Array<Happened>;
}

/** Where to stop with a tool, what the control shows there, and how high the tip stands over what lies … */
export interface HoldPointSaid {
  tool: number;
  file: string;
  line: number;
  block: string;
  block_number: string | number | null;
  stop: string | number | null;
  offset: string;
  shows: Record<string, number>;
  to_go: Record<string, number>;
  within: boolean;
  height: number;
  surface: string;
  beside: number;
  surface_made_by: number | string | null;
}

/** The study of a job; the first setup once more at the top. */
export interface HoverAnswer {
  as_set: ConsequenceSaid;
  slips: Array<SlipOfStudy>;
  risk: Record<string, number>;
  harmful: number;
  worlds: number;
  checks: Array<CheckOfPlan>;
  minutes: number;
  catch: number;
  within_minutes: number | null;
  false_alarm: number;
  risk_before: number;
  risk_left: number;
  harmful_left: number;
  uncaught: Array<Uncaught>;
  spared: Array<string>;
  hold_points: Array<HoldPointSaid>;
  elapsed_s: number;
  diagnosis?: DiagnosisSaid | null;
  could_see?: Array<CheckThere>;
  setup: string;
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<StudyOfSetup>;
}

/** The newest study, or supposition (null: none yet); `current`: it is of the newest revision. */
export interface HoverNow {
  result: ResultSaid | null;
  current: boolean;
  document: HoverAnswer | SupposeAnswer | null;
}

/** A job in the list: its newest revision, and who changed it last, when. */
export interface JobLine {
  name: string;
  title: string;
  revision: number;
  by: string;
  at: string;
}

/** A job as a whole. `document`: the job as one document with the keys of the job folder, quantities … */
export interface JobSaid {
  revision: RevisionSaid;
  document: Record<string, unknown>;
  route_card: Array<StationOfCard>;
}

/** A page of the jobs, the one changed last first: its number, how many pages and how many jobs there … */
export interface Jobs {
  jobs: Array<JobLine>;
  page: number;
  pages: number;
  in_all: number;
  next: number | null;
}

/** A measured value and its expanded uncertainty in digits. */
export interface JudgedDigits {
  value: string;
  sure: string;
}

/** A measured feature of a piece and what it proves (ISO 14253-1). */
export interface JudgedSaid {
  piece: string;
  feature: string;
  value: number;
  uncertainty: number;
  decision: "accept" | "reject" | "undecided" | "no limits";
  gauge: string;
  unit: string;
  said: JudgedDigits;
}

/** Every setup put together, and what is noticed about it. */
export interface KitAnswer {
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<KitOfSetup>;
}

/** A setup put together. `may_stand` null where that is not known, for the reason `may_stand_open`. */
export interface KitOfSetup {
  setup: string;
  machine: string;
  blank: Extent;
  bodies: Array<BodySaid>;
  tools: Array<ToolOfKit>;
  expected_offsets: Record<string, [number, number, number]>;
  place_known: boolean;
  scene: Scene;
  may_stand: PlaceOnTable | null;
  may_stand_open: string;
}

/** A line of measured.csv, from 1; `gauge` "typed" for what was typed into a register. */
export interface LineSaid {
  line: number;
  piece: string;
  feature: string;
  gauge: string;
  said: string;
  when: string | null;
}

/** What the load rests on: `unsure`, the material's figures whose source nobody has read; `clamp_n`: … */
export interface LoadRests {
  material: string | null;
  grade_stated: boolean;
  unsure: Array<string>;
  not_looked_at: Array<string>;
  clamp_n: [number, number, number] | null;
  caution: string;
}

/** The greatest load of a tool, mean over a turn unless it says otherwise; null where it is not … */
export interface LoadSaid {
  tool: number;
  peak_kw: number | null;
  peak_kw_band: [number, number] | null;
  peak_torque_nm: number | null;
  peak_torque_nm_band: [number, number] | null;
  peak_force_n: number | null;
  peak_force_n_band: [number, number] | null;
  force_at_any_angle_n: number | null;
  peak_thrust_n: number | null;
  peak_thrust_n_band: [number, number] | null;
  mean_kw: number | null;
  energy_kj: number | null;
  chip_mm: number | null;
  thickest_chip_mm: number | null;
  bends_mm: number | null;
  spindle_kw: number | null;
  spindle_short_kw: number | null;
  engagement_bound: number | null;
  advice: FeedAdviceSaid | null;
  mrr_mm3_min: number | null;
}

/** What was measured or typed, kept together or not at all. */
export interface MeasuredGiven {
  lines: Array<MeasuredLine>;
}

/** One line of measured.csv: a value of a feature with a gauge of the shop, or with the gauge "typed" … */
export interface MeasuredLine {
  piece: string;
  setup: string;
  feature: string;
  value: string;
  unit?: string;
  gauge: string;
  time?: string;
}

/** Triangles, nine numbers each. */
export interface Mesh {
  triangles: Array<number>;
}

/** Somebody new. */
export interface NewPerson {
  name: string;
  password: string;
  role: Role;
}

/** The check that would tell most. */
export interface NextCheck {
  name: string;
  bits: number;
  do: string;
}

/** After how many more pieces one is to be measured, which feature shows it, and why. */
export interface NextDueSaid {
  pieces: number;
  feature: string;
  why: string;
}

/** A number with its expanded uncertainty and coverage factor, all null where nothing fixes it. … */
export interface Number {
  value: number | null;
  expanded_uncertainty: number | null;
  k: number | null;
  dof?: number | null;
  type?: string | null;
  register?: string | null;
}

/** Something that was not looked at or rests on nothing, and where to put that right (line 0: the file … */
export interface OpenSaid {
  text: string;
  file: string;
  line: number;
  setup: string;
}

/** A contact (from 1) the others contradict; `rivals` could be the wrong one as well. */
export interface OutlierSaid {
  contact: number;
  on: string;
  early: number;
  standardised: number;
  rivals: Array<number>;
  text: string;
}

/** A feature of the next piece in digits. */
export interface OutlookDigits {
  now: string;
  then: string;
  sure: string;
  chance_now: string;
  chance_then: string;
}

/** An axis is sent beyond its travel. */
export interface OvertravelSaid {
  file: string;
  line: number;
  tool: number;
  motion: number;
  setup: string;
  axis: "X" | "Y" | "Z";
  beyond_mm: number;
  limit_mm: number;
  wanted_mm: number;
}

/** Everybody. */
export interface People {
  people: Array<PersonSaid>;
}

/** What changes; what is left out stays. */
export interface PersonChange {
  role?: Role | null;
  password?: string | null;
  active?: boolean | null;
}

/** Somebody; not `active`: may not sign in. */
export interface PersonSaid {
  name: string;
  role: "viewer" | "setter" | "lead" | "administrator";
  active: boolean;
  at: string;
}

/** What a drawing of the touch-off shows; the origin is the program's zero. */
export interface Picture {
  blank: Extent;
  bodies: Array<BodySaid>;
  faces: Array<FaceDrawn>;
  contacts: Array<ContactDot>;
}

/** The first piece is measured: what now? */
export interface PieceAnswer {
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<PieceOfSetup>;
}

/** With what to do, null while nothing was measured or worked out. */
export interface PieceOfSetup {
  setup: string;
  plan: Array<ToMeasureSaid>;
  pieces: Array<string>;
  lines: Array<LineSaid>;
  picture: Picture;
  copies: Array<[number, number, number]>;
  worked_out: boolean;
  answer: string;
  told: PieceSaid | null;
}

/** What to do after the measured pieces of a setup. */
export interface PieceSaid {
  setup: string;
  headline: string;
  advice: "correct" | "leave";
  why: string;
  pieces: Array<string>;
  registers: Array<RegisterSaid>;
  predicted: Array<PredictedSaid>;
  unexplained: Array<UnexplainedSaid>;
  judged: Array<JudgedSaid>;
  inseparable: Array<Blinded>;
  apart: Array<string>;
  not_measured: Array<string>;
  not_seen?: Array<string>;
  drifts?: boolean;
  habits: HabitsSaid | null;
  habits_said: string;
  influence: Record<string, Record<string, number>>;
}

/** Where on the table the holding may stand. `room`: there is a place at all; `best_shift_mm`: along X … */
export interface PlaceOnTable {
  x: BordersOfAxis;
  y: BordersOfAxis;
  z: BordersOfAxis;
  room: boolean;
  best_shift_mm: [number, number];
  offset: string;
  offset_mm: [number, number, number];
  guessed: boolean;
}

/** A touch still to be made: `what` in words, the face `on` which and the way `toward` it, the `tool` … */
export interface Planned {
  what: string;
  on: string;
  toward: string;
  tool: number | null;
  also: string;
  with: string;
}

/** A feature of the next piece before and after the change: means (of a centre both coordinates), … */
export interface PredictedSaid {
  name: string;
  limits: [number, number] | null;
  before: Array<number>;
  after: Array<number>;
  uncertainty: Array<number>;
  probability_before: number | null;
  probability_after: number | null;
  aims: Array<number>;
  half: number | null;
  concerned: boolean;
  said: OutlookDigits;
}

/** A program that was read. */
export interface ProgramSaid {
  file: string;
  sha256: string;
  lines: number;
}

/** A proof of a job: lists joined, volumes and times added up, and each setup by itself. */
export interface ProofAnswer {
  verdict: string;
  open: Array<OpenSaid>;
  rests_on: Array<RestSaid>;
  blank_mm3: number;
  removed_mm3: number;
  removed_by_tool: Record<string, number>;
  discretisation_mm3: number;
  contacts: Array<ContactSaid>;
  clearance: Array<ClearanceSaid>;
  overtravel: Array<OvertravelSaid>;
  features: Array<FeatureSaid>;
  wanted: WantedSaid | null;
  load: Array<LoadSaid>;
  time_s: number | null;
  grid_mm: number;
  elapsed_s: number;
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<ProofOfSetup>;
}

/** The newest proof, or the one asked for (null: nothing was proved yet); `current`: it is of the … */
export interface ProofNow {
  proof: ResultSaid | null;
  current: boolean;
  document: ProofAnswer | null;
}

/** Of one setup. `offsets_from`: "touch" where readings fix them, else expected ones. */
export interface ProofOfSetup {
  verdict: string;
  open: Array<OpenSaid>;
  rests_on: Array<RestSaid>;
  blank_mm3: number;
  removed_mm3: number;
  removed_by_tool: Record<string, number>;
  discretisation_mm3: number;
  contacts: Array<ContactSaid>;
  clearance: Array<ClearanceSaid>;
  overtravel: Array<OvertravelSaid>;
  features: Array<FeatureSaid>;
  wanted: WantedSaid | null;
  load: Array<LoadSaid>;
  time_s: number | null;
  grid_mm: number;
  elapsed_s: number;
  setup: string;
  offsets_from: string;
  stopped_at: string | null;
  disagreement_mm3: number;
  time_uncertainty_s: number | null;
  time_by_tool: Record<string, number>;
  travel: Travel;
  load_rests_on: LoadRests | null;
  programs: Record<string, string>;
}

/** The revision that a change made. */
export interface Put {
  thing: ThingSaid;
}

/** The job ran as the record has it. */
export interface RanOnMachine {
  pieces: number;
  setup?: string;
  note?: string;
}

/** A slip that would explain what was seen. */
export interface RankedSaid {
  slug: string;
  text: string;
  probability: number;
  outcome: "undecided" | "crash" | "broken tool" | "scrap" | "rework" | "harmless";
  remedy: string;
  cannot_tell_from: Array<string>;
}

/** What the programs ask for; the first setup once more at the top. */
export interface ReadAnswer {
  programs: Array<ProgramSaid>;
  blocks: number;
  motions: number;
  end: string;
  stopped_at: string | null;
  profile: string;
  evidence: Array<Evidence>;
  assumptions: Array<Assumption>;
  tools: Array<ToolRead>;
  unread: UnreadSaid | null;
  time_s: number | null;
  time_uncertainty_s: number | null;
  offsets: Array<string>;
  extents: Record<string, Extent>;
  setup: string;
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<ReadOfSetup>;
}

/** Of one setup. */
export interface ReadOfSetup {
  programs: Array<ProgramSaid>;
  blocks: number;
  motions: number;
  end: string;
  stopped_at: string | null;
  profile: string;
  evidence: Array<Evidence>;
  assumptions: Array<Assumption>;
  tools: Array<ToolRead>;
  unread: UnreadSaid | null;
  time_s: number | null;
  time_uncertainty_s: number | null;
  offsets: Array<string>;
  extents: Record<string, Extent>;
  setup: string;
}

/** One reading with the keys of readings.toml. */
export interface ReadingGiven {
  reading: Record<string, unknown>;
}

/** The revision a reading made, and the solution as it is now; null where it is refused, `undecided` … */
export interface ReadingKept {
  revision: RevisionSaid;
  touch: TouchAnswer | null;
  plan: Array<Planned>;
  undecided: Array<FindingSaid>;
}

/** The lists of a readings.toml. */
export type ReadingKind = "contact" | "tool_length" | "tool_diameter";

/** The readings as written: the text, and each list in its order with the keys of readings.toml. */
export interface ReadingsSaid {
  text: string;
  contact: Array<Record<string, unknown>>;
  tool_length: Array<Record<string, unknown>>;
  tool_diameter: Array<Record<string, unknown>>;
}

/** A register in digits: what it holds, what stands `beside` it in the wear, what to type, the change, … */
export interface RegisterDigits {
  holds: string;
  type: string;
  change: string;
  wear: string;
  beside?: string;
  sure: string;
}

/** A register to change, as the control shows it; `moves`: by how much each feature. */
export interface RegisterSaid {
  name: string;
  now: number;
  change: number;
  uncertainty: number;
  type: string;
  moves: Record<string, number>;
  said: RegisterDigits;
}

/** Something for whoever comes next. */
export interface Remark {
  text: string;
  setup?: string;
}

/** A guess the proof rests on, and the line that answers it. `decides`: whether the verdict changes … */
export interface RestSaid {
  guess: string;
  file: string;
  line: number;
  decides: boolean | null;
  how: string;
  setup: string;
}

/** Something a station made of a revision. `inputs`: the digest of everything it was made from. */
export interface ResultSaid {
  id: number;
  revision: number;
  station: string;
  setup: string;
  name: string;
  media_type: string;
  inputs: string;
  sha256: string;
  by: string;
  at: string;
}

/** Results, the newest first. */
export interface Results {
  results: Array<ResultSaid>;
}

/** The revision that a change made; `others`: what other people had changed meanwhile, which it holds … */
export interface Revised {
  revision: RevisionSaid;
  others?: Array<Changed>;
}

/** A revision of a job. `files`: SHA-256 by path. `home`: the folder in which job.toml stands. */
export interface RevisionSaid {
  job: string;
  number: number;
  digest: string;
  document: string;
  title: string;
  home: string;
  note: string;
  by: string;
  at: string;
  files: Record<string, string>;
}

/** Every revision, the first one first. */
export interface Revisions {
  revisions: Array<RevisionSaid>;
}

/** A piece of a tool, turned about its axis, from `z0` to `z1` above the tip. A line goes from radius … */
export interface Revolved {
  part: string;
  meridian: "line" | "arc";
  z0: number;
  z1: number;
  r0: number;
  r1: number;
  e: number;
  f: number;
  rho: number;
}

/** What a person may do; each may do everything the ones before may. */
export type Role = "viewer" | "setter" | "lead" | "administrator";

/** Does it stay good? */
export interface RunAnswer {
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<RunOfSetup>;
}

/** With what follows, null while nothing was measured or worked out. */
export interface RunOfSetup {
  setup: string;
  plan: Array<ToMeasureSaid>;
  pieces: Array<string>;
  lines: Array<LineSaid>;
  picture: Picture;
  copies: Array<[number, number, number]>;
  worked_out: boolean;
  answer: string;
  told: RunSaid | null;
}

/** Whether a setup stays good. */
export interface RunSaid {
  setup: string;
  headline: string;
  next_due: NextDueSaid;
  tools: Array<ToolSaid>;
  series: Array<SeriesSaid>;
  charts: Array<ChartsOf>;
}

/** The shapes of a setup. `copies`: shifts of the parts of a pallet; `blank` null where an earlier … */
export interface Scene {
  blank: Shape | null;
  bodies: Array<Shape>;
  tools: Record<string, ToolShape>;
  machine_from_work: Frame;
  copies: Array<[number, number, number]>;
}

/** A followed feature: its values with what was typed taken out, what typing has moved it by, level … */
export interface SeriesSaid {
  feature: string;
  unit?: string | null;
  pieces: Array<number>;
  values: Array<number>;
  typed: number;
  level: number;
  slope: number;
  left: number | null;
  probability: number | null;
  state: string | null;
  said: FollowedSaid;
  picture: FeaturePicture;
}

/** Who is asking. `accounts`: people sign in here; `token` goes with everything that changes something. */
export interface SessionSaid {
  accounts: boolean;
  name: string;
  role: "viewer" | "setter" | "lead" | "administrator";
  token: string;
  version: string;
}

/** A body's shape: one of `box`, `cylinder`, `mesh`. */
export interface Shape {
  name: string;
  role: string;
  box?: Box | null;
  cylinder?: Cylinder | null;
  mesh?: Mesh | null;
}

/** A contribution to an uncertainty; `share` of the variance, from 0 to 1. */
export interface Share {
  source: string;
  standard_uncertainty: number;
  share: number;
  dof: number | null;
}

/** Everything in the shop; by job, its files that differ from what the shop has now. */
export interface Shop {
  things: Array<ThingSaid>;
  differing: Record<string, Array<string>>;
}

/** What a check looks at, and what the sheet says there. */
export interface Sight {
  what: string;
  sheet: number | string | null;
  spread_mm: number | null;
}

/** A station, for one setup or for all. */
export interface SignOff {
  station: string;
  setup?: string;
}

/** Who signed a station, when, for which setup ("" for all), and whether it still stands. */
export interface SignatureSaid {
  by: string;
  at: string;
  setup: string;
  stands: boolean;
}

/** The last run (null: the job never ran) and what changed since. */
export interface SinceLastRun {
  ran: EntrySaid | null;
  newest: number;
  changes: Array<Changed>;
}

/** A slip, how often it happens, and what it does. */
export interface SlipOfStudy {
  outcome: "undecided" | "crash" | "broken tool" | "scrap" | "rework" | "harmless";
  text: string;
  file: string;
  first_line: number | null;
  lost_line: number | null;
  tool: number | null;
  part: string;
  body: string;
  value: number | null;
  requirement: string;
  speed_per_min: number | null;
  stopped: string;
  slug: string;
  words: string;
  subject: string;
  size: number | null;
  probability: number;
  remedy: string;
}

/** A slip that would explain what does not fit, and how probable it is. */
export interface SlipSaid {
  slug: string;
  probability: number;
  text: string;
}

/** A statement that was not withdrawn; `why` it does not stand any more, if so. */
export interface StandingSaid {
  id: number;
  kind: "check done" | "finding accepted" | "signed off" | "ran" | "remark" | "withdrawn";
  revision: number;
  setup: string;
  subject: string;
  looked_at: string;
  body: Record<string, unknown>;
  by: string;
  at: string;
  stands: boolean;
  why: string;
}

/** What was stated and not withdrawn. */
export interface Statements {
  checks: Array<StandingSaid>;
  accepted: Array<StandingSaid>;
  signed: Array<StandingSaid>;
  remarks: Array<EntrySaid>;
}

/** A station of the route card with its one most important sentence. */
export interface StationOfCard {
  station: "read" | "kit" | "prove" | "touch" | "hover" | "piece" | "run";
  state: "open" | "needs a look" | "signed";
  text: string;
  signed: Array<SignatureSaid>;
}

/** How far it is; `left_s` null while that is not known. */
export interface StepSaid {
  what: string;
  done: number;
  total: number;
  elapsed_s: number;
  left_s: number | null;
}

/** Of one setup. */
export interface StudyOfSetup {
  as_set: ConsequenceSaid;
  slips: Array<SlipOfStudy>;
  risk: Record<string, number>;
  harmful: number;
  worlds: number;
  checks: Array<CheckOfPlan>;
  minutes: number;
  catch: number;
  within_minutes: number | null;
  false_alarm: number;
  risk_before: number;
  risk_left: number;
  harmful_left: number;
  uncaught: Array<Uncaught>;
  spared: Array<string>;
  hold_points: Array<HoldPointSaid>;
  elapsed_s: number;
  diagnosis?: DiagnosisSaid | null;
  could_see?: Array<CheckThere>;
  setup: string;
}

/** What would happen. */
export interface SupposeAnswer {
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setup: string;
  suppositions: Array<SupposedSaid>;
  consequence: ConsequenceSaid;
}

/** A supposition as written and as it was taken. */
export interface SupposedSaid {
  text: string;
  words: string;
}

/** The check that tells the two likeliest answers best from one another. */
export interface TellsApart {
  name: string;
  do: string;
}

/** A revision of a thing of the shop; `sha256` null when it was taken out. */
export interface ThingSaid {
  kind: string;
  name: string;
  number: number;
  sha256: string | null;
  note: string;
  by: string;
  at: string;
}

/** A thing, the text it is written in, and its document, quantities with their unit. */
export interface ThingShown {
  thing: ThingSaid;
  text: string;
  document: Record<string, unknown>;
}

/** The text of a thing as it is being typed. */
export interface ThingTyped {
  text: string;
}

/** Every revision of a thing, the first one first. */
export interface Things {
  revisions: Array<ThingSaid>;
}

/** A number to read from a piece, by the `feature` under which it is written. `zone`: in which … */
export interface ToMeasureSaid {
  feature: string;
  requirement: string;
  axis: "" | "x" | "y";
  kind: string;
  unit: "mm" | "in" | "deg";
  nominal: number;
  limits: [number, number] | null;
  zone: number | null;
  faces: Array<string>;
  shift: [number, number, number];
  gauge: string;
  said: string;
  zone_said: string;
  instruments: Array<GaugeOn>;
}

/** A tool in digits: worn since the first piece, by piece, pieces left, chance then. */
export interface ToolDigits {
  worn: string;
  per_piece: string;
  left: string;
  chance: string;
}

/** A tool as it hangs in the spindle. */
export interface ToolOfKit {
  station: number;
  name: string;
  kind: string;
  diameter_mm: number;
  stickout_mm: number;
  length_mm: number;
  length_register: number;
  radius_register: number;
}

/** What the programs ask of a tool. */
export interface ToolRead {
  number: number;
  length_register: number | null;
  radius_register: number | null;
  length_registers: Array<number>;
  radius_registers: Array<number>;
  feed_range_mm_min: [number, number] | null;
  speed_range_rpm: [number, number] | null;
  motions: number;
  cutting_motions: number;
  line: number;
  time_s: number | null;
  description: string;
}

/** A tool: wear of the feature that shows it most, pieces left to a limit (null: none in sight), … */
export interface ToolSaid {
  number: number;
  wear: number;
  per_piece: number;
  feature: string;
  left: number | null;
  probability: number | null;
  said: ToolDigits;
}

/** A tool from the tip upward. */
export interface ToolShape {
  name: string;
  length: number;
  pieces: Array<Revolved>;
}

/** Where the part is; the first setup once more at the top. */
export interface TouchAnswer {
  offsets: Record<string, Record<string, Number>>;
  tool_lengths: Record<string, Number>;
  tool_radii: Record<string, Number>;
  determined: Record<string, Fixed>;
  contributions: Record<string, Array<Share>>;
  outliers: Array<OutlierSaid>;
  unchecked: Array<Unchecked>;
  slips: Array<SlipSaid>;
  no_slip: number | null;
  unlisted: number | null;
  settled: boolean | null;
  tells_apart: string | null;
  type: Array<string>;
  read_back: Array<string>;
  g10: string;
  next_contact: string | null;
  setup: string;
  plan: Array<Planned>;
  usual: Usual;
  answer: string;
  picture: Picture;
  schema: number;
  command: string;
  version: string;
  job: string;
  units: string;
  findings: Array<FindingSaid>;
  refused?: true | null;
  setups: Array<TouchOfSetup>;
}

/** A touch-off of one setup to solve without keeping anything: the text of a readings.toml (the job's … */
export interface TouchAsked {
  setup: string;
  readings?: string | null;
  kind?: ReadingKind;
  reading?: Record<string, unknown> | null;
  number?: number | null;
}

/** Of one setup, with its sentence, what is still to be touched in the order of the datum, and with … */
export interface TouchOfSetup {
  offsets: Record<string, Record<string, Number>>;
  tool_lengths: Record<string, Number>;
  tool_radii: Record<string, Number>;
  determined: Record<string, Fixed>;
  contributions: Record<string, Array<Share>>;
  outliers: Array<OutlierSaid>;
  unchecked: Array<Unchecked>;
  slips: Array<SlipSaid>;
  no_slip: number | null;
  unlisted: number | null;
  settled: boolean | null;
  tells_apart: string | null;
  type: Array<string>;
  read_back: Array<string>;
  g10: string;
  next_contact: string | null;
  setup: string;
  plan: Array<Planned>;
  usual: Usual;
  answer: string;
  picture: Picture;
}

/** Least and greatest machine position over the program. */
export interface Travel {
  min: [number, number, number];
  max: [number, number, number];
}

/** A slip that would hurt and is not caught well enough: at best, and by the plan. */
export interface Uncaught {
  slug: string;
  text: string;
  outcome: "undecided" | "crash" | "broken tool" | "scrap" | "rework" | "harmless";
  best: number;
  by_plan: number;
}

/** A contact nothing checks: an error smaller than `least_found` would not be noticed (null: no error … */
export interface Unchecked {
  contact: number;
  least_found: number | null;
}

/** What no register mends, with its likely cause. */
export interface UnexplainedSaid {
  feature: string;
  text: string;
}

/** What stands behind the line at which the reading stopped: how many blocks, and what they call. */
export interface UnreadSaid {
  file: string;
  line: number;
  blocks: number;
  tools: Array<CalledUnread>;
  registers: Array<CalledUnread>;
  offsets: Array<CalledUnread>;
}

/** The instruments that are likely used next: the finder, what stands under a tool's tip, what sweeps … */
export interface Usual {
  finder: string;
  under: string;
  sweeps: string;
}

export interface ValidationError {
  loc: Array<string | number>;
  msg: string;
  type: string;
  input?: unknown;
  ctx?: Record<string, unknown>;
}

/** The part compared with a wanted shape: how deep it is cut into, how high metal is left, and by how … */
export interface WantedSaid {
  within_mm: number;
  cut_into_mm: number;
  left_mm: number;
  bound_mm: number;
  at: [number, number, number] | null;
  line: number | null;
}

/** An entry taken back. */
export interface Withdrawal {
  entry: number;
  reason?: string;
}

/** What each address answers. */
export interface Answers {
  "GET /api/audit": Audit;
  "GET /api/calculations/{number}": CalculationNow;
  "DELETE /api/calculations/{number}": CalculationSaid;
  "GET /api/calculations/{number}/events": null;
  "GET /api/jobs": Jobs;
  "POST /api/jobs": Drafted;
  "POST /api/jobs/import": Revised;
  "GET /api/jobs/{job}": JobSaid;
  "PATCH /api/jobs/{job}": Revised;
  "POST /api/jobs/{job}/accepted": EntrySaid;
  "GET /api/jobs/{job}/calculations": Calculations;
  "POST /api/jobs/{job}/calculations": CalculationSaid;
  "GET /api/jobs/{job}/changes": Changes;
  "POST /api/jobs/{job}/checks": EntrySaid;
  "GET /api/jobs/{job}/events": null;
  "GET /api/jobs/{job}/file": null;
  "PUT /api/jobs/{job}/file": Revised;
  "DELETE /api/jobs/{job}/file": Revised;
  "GET /api/jobs/{job}/findings": Findings;
  "GET /api/jobs/{job}/folder": null;
  "POST /api/jobs/{job}/guesses/settled": Revised;
  "GET /api/jobs/{job}/history": History;
  "GET /api/jobs/{job}/hover": HoverNow;
  "GET /api/jobs/{job}/kit": KitAnswer;
  "POST /api/jobs/{job}/measured": Revised;
  "DELETE /api/jobs/{job}/measured/{line}": Revised;
  "GET /api/jobs/{job}/moment": null;
  "GET /api/jobs/{job}/path": null;
  "GET /api/jobs/{job}/pictures/{finding}": null;
  "GET /api/jobs/{job}/piece": PieceAnswer;
  "GET /api/jobs/{job}/proof": ProofNow;
  "GET /api/jobs/{job}/read": ReadAnswer;
  "GET /api/jobs/{job}/readings": ReadingsSaid;
  "DELETE /api/jobs/{job}/readings": ReadingKept;
  "POST /api/jobs/{job}/readings/{kind}": ReadingKept;
  "PUT /api/jobs/{job}/readings/{kind}/{number}": ReadingKept;
  "DELETE /api/jobs/{job}/readings/{kind}/{number}": ReadingKept;
  "POST /api/jobs/{job}/remarks": EntrySaid;
  "GET /api/jobs/{job}/results": Results;
  "GET /api/jobs/{job}/results/{result}": null;
  "GET /api/jobs/{job}/revisions": Revisions;
  "GET /api/jobs/{job}/run": RunAnswer;
  "POST /api/jobs/{job}/runs": EntrySaid;
  "POST /api/jobs/{job}/signed": EntrySaid;
  "GET /api/jobs/{job}/since-last-run": SinceLastRun;
  "GET /api/jobs/{job}/statements": Statements;
  "GET /api/jobs/{job}/strip": null;
  "GET /api/jobs/{job}/touch": TouchAnswer;
  "POST /api/jobs/{job}/touch": TouchAnswer;
  "GET /api/jobs/{job}/track": null;
  "POST /api/jobs/{job}/withdrawn": EntrySaid;
  "GET /api/people": People;
  "POST /api/people": PersonSaid;
  "PATCH /api/people/{name}": PersonSaid;
  "DELETE /api/people/{name}/tries": null;
  "GET /api/session": SessionSaid;
  "POST /api/session": SessionSaid;
  "DELETE /api/session": null;
  "GET /api/shop": Shop;
  "POST /api/shop/{kind}/drawing": Drawn;
  "GET /api/shop/{kind}/{name}": ThingShown;
  "PUT /api/shop/{kind}/{name}": Put;
  "DELETE /api/shop/{kind}/{name}": Put;
  "GET /api/shop/{kind}/{name}/revisions": Things;
}

/** What is sent to each address that takes a document. */
export interface Bodies {
  "PATCH /api/jobs/{job}": FileChanges;
  "POST /api/jobs/{job}/accepted": Acceptance;
  "POST /api/jobs/{job}/calculations": CalculationAsked;
  "POST /api/jobs/{job}/checks": CheckDone;
  "POST /api/jobs/{job}/guesses/settled": GuessSettled;
  "POST /api/jobs/{job}/measured": MeasuredGiven;
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
  "POST /api/shop/{kind}/drawing": ThingTyped;
}
