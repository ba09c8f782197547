/** Of the JSON texts that a service kept, by key, those that are what they should be. */
export const recordsIn = <Value>(
  all: ReadonlyMap<string, string>,
  isOne: (value: unknown) => value is Value,
): [string, Value][] =>
  [...all].flatMap(([key, json]): [string, Value][] => {
    const value: unknown = JSON.parse(json)
    return isOne(value) ? [[key, value]] : []
  })
