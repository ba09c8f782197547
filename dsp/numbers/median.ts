/** The middle one in order, of an even number the upper of both; 0 for none. */
export const median = (values: readonly number[]): number =>
  values.toSorted((a, b) => a - b)[values.length >> 1] ?? 0
