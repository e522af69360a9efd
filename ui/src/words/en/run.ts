export const run = {
  title: (job: string) => `Run: ${job}`,
  none: "No piece was measured yet.",
  chart: (feature: string, stands: string, limits: string, left: string, due: string) =>
    `${feature}: stands at ${stands}${limits === "" ? "" : `, limits ${limits}`}; ${left}; ${due}`,
  limits: (limits: string) => `limits ${limits}`,
  left: (left: string) => `; ${left}.`,
  dueFlag: "measure",
  key: {
    limit: "limits of the drawing",
    control: "three deviations about the mean",
    ahead: "what to expect; 19 of 20 pieces fall in the band",
    due: "measure this piece; a cross where one may be outside",
    typed: "Values before a change are shown as they would have come with the registers as they stand now.",
  },
  tools: "Tools",
  column: { tool: "Tool", feature: "Shown by", worn: "Moved since the first", each: "A piece", left: "Pieces left", chance: "Chance then" },
  stable: "Is it stable?",
};
