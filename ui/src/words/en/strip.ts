export const strip = {
  label: "Strip: the moment shown. Arrow keys step a block, Page keys a tool, plus and minus stretch the time.",
  lane: { tool: "Tool", feed: "Feed", rate: "Removal rate", power: "Likely power", clearance: "Clearance" },
  upTo: (value: string) => `up to ${value}`,
  motion: (number: number) => `motion ${number}`,
  start: "Before the first motion",
  rapid: "rapid",
  takes: (value: string) => ` with likely ${value}`,
  clears: (value: string) => `clears holding and table by ${value}`,
  meets: "MEETS holding or table",
  beyond: (value: string) => `more than ${value}`,
  said: (when: string, place: string, tool: number, feed: string, rate: string, clearance: string) =>
    `${when} – ${place} – T${tool}, ${feed}, removing ${rate}, ${clearance}`,
  before: "Block before",
  next: "Next block",
  closer: "Stretch",
  whole: "Whole time",
};
