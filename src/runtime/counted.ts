/** @returns the number with its noun, which takes an s unless there is one: '1 frame', '2 frames' */
export const counted = (count: number, noun: string): string =>
  `${count} ${noun}${count === 1 ? '' : 's'}`
