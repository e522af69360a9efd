export const read = {
  title: (job: string) => `Read: ${job}`,
  answer: (tools: number, motions: string, time: string) =>
    `${tools === 1 ? "One tool" : `${tools} tools`}, ${motions} motions, about ${time}.`,
  stopped: (place: string) => `The program is understood as far as ${place}, and no further.`,
  setup: "Setup",
  tools: "Tools the program calls",
  column: { tool: "Tool", description: "As the program calls it", length: "Length register", radius: "Radius register", feed: "Feed", speed: "Speed", time: "Time" },
  range: (low: string, high: string) => `${low} to ${high}`,
  offsets: (names: string) => `Work offsets: ${names}.`,
  ending: (word: string) => `It ends with ${word}.`,
  control: (profile: string) => `Read as the control “${profile}” reads it.`,
  assumptions: "Taken for granted",
  assumed: (reading: string, place: string, count: number) =>
    `Read as “${reading}”, first at ${place}${count > 1 ? `, ${count} times in all` : ""}.`,
  path: "The path",
  above: "From above: X to the right, Y away",
  front: "From the front: X to the right, Z up",
  nothingMoves: "The program moves nothing.",
  picture: (x: string, y: string, z: string) => `Cutting moves over ${x} in X, ${y} in Y, ${z} in Z. Feed solid, rapid dotted. Touch the path to find its line.`,
  thinned: (step: number) => `One motion in ${step} is drawn.`,
  program: "Program",
  none: "none",
};
