export const strip = {
  label: "Strip: the moment shown. Arrow keys step a block, Page keys a tool, plus and minus stretch the time.",
  lane: { tool: "Tool", feed: "Feed", rate: "Removal rate", clearance: "Clearance" },
  upTo: (value: string) => `up to ${value}`,
  motion: (number: number) => `motion ${number}`,
  start: "Before the first motion",
  rapid: "rapid",
  beyond: (value: string) => `more than ${value}`,
  said: (when: string, place: string, tool: number, feed: string, rate: string, clearance: string) =>
    `${when} – ${place} – T${tool}, ${feed}, removing ${rate}, clears holding and table by ${clearance}`,
  before: "Block before",
  next: "Next block",
  closer: "Stretch",
  whole: "Whole time",
};
