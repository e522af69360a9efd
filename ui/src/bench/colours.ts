// Data series by the palette of Okabe and Ito, which people with any colour vision tell apart. Hazard colours are not among these uses.

export const SERIES = ["#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7", "#7f7f7f"] as const;

/** The colour of the k-th tool of a setup, from 0; further ones begin anew, and are told apart by their names. */
export function seriesColour(index: number): string {
  return SERIES[index % SERIES.length] ?? SERIES[0];
}
