export const board = {
  title: "Jobs",
  none: "No job here yet.",
  drop: "Drop part programs here for a new job",
  dropNext: "Everything the program does not say is drafted and marked as a guess, and the proof starts at once. A job's folder packed as a ZIP file is taken in as it is.",
  choose: "Choose programs …",
  dropping: "Let go to make a new job of it",
  making: (names: string) => `Making a job of ${names} …`,
  columns: { name: "Job", changed: "Last change", revision: "Revision" },
  changed: (when: string, who: string) => `${when} by ${who}`,
  table: "Every job, the one changed last first",
};
