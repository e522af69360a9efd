export const findings = {
  title: "Findings, worst first",
  none: "Nothing found.",
  notices: (count: number) => (count === 1 ? "One notice" : `${count} notices`),
  places: (count: number) => (count === 1 ? "In one more place" : `In ${count} more places`),
  so: (text: string) => `So ${text}`,
  count: (word: string, count: number) => `${count} × ${word}`,
  inLine: (line: number, texts: string) => `Line ${line}: ${texts}`,
};
