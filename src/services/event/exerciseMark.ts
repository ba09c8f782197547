import type { Wording } from '../../words/air/wording.js'

/** What begins a text of an exercise, so that nobody takes it for the real thing; nothing for an event. */
export const exerciseMark = (isExercise: boolean, { say }: Wording): string =>
  isExercise ? `${say('exerciseMark')} ` : ''
