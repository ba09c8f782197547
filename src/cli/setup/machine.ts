import type {
  Answers,
  Around,
  Effect,
  EffectResult,
  Found,
  Memo,
  Step,
  Taken,
  View,
} from './session.js'
import { steps } from './steps.js'

/** Where somebody is. Nothing in it changes: each answer makes another. */
export interface Session {
  readonly around: Around
  readonly found: Found
  readonly answers: Answers
  readonly step: string
  /** steps that are answered or skipped */
  readonly settled: readonly string[]
  readonly memo: Memo
  /** what `back` goes to, the latest last */
  readonly trail: readonly Pick<Session, 'answers' | 'step' | 'settled'>[]
}

/** What is to be shown and done next: an effect, else a question, else it is over. */
export interface Turn {
  readonly session: Session
  readonly lines: readonly string[]
  readonly effect?: Effect
  readonly prompt?: string
  /** isGood: a file is written, and `check` has nothing to mend */
  readonly over?: { readonly isGood: boolean }
}

const beginLines: readonly string[] = [
  'This asks what a station must know and writes its configuration. Enter takes what stands in brackets. At each question:',
  '  skip   leave it out',
  '  back   undo the last answer',
  '  again  look for devices anew',
  '  list   show what is answered',
  '  help   show this',
  '  quit   end, and write nothing; Ctrl-C does it at any moment, and unkeys',
]

/** The first question. */
export function begin(around: Around, found: Found): Turn {
  const session: Session = {
    around,
    found,
    answers: {},
    step: steps[0]!.id,
    settled: [],
    memo: {},
    trail: [],
  }
  return entered(session, beginLines)
}

/** @param line what was typed */
export function answer(session: Session, line: string): Turn {
  const word = line.trim()
  switch (word.toLowerCase()) {
    case 'quit':
      return { session, lines: ['Nothing was written.'], over: { isGood: false } }
    case 'help':
      return asked(session, beginLines)
    case 'list':
      return asked(session, answeredLines(session.answers))
    case 'back':
      return undone(session)
    case 'skip':
      return skipped(session)
    case 'again':
      if (session.memo.tried !== true) return { session, lines: [], effect: { kind: 'find' } }
  }
  // Every character that a file of text cannot hold, or a terminal takes for a command.
  if (/[\p{Cc}\p{Zl}\p{Zp}]/u.test(word))
    return asked(session, ['That holds a control character: type it again.'])
  return followed(session, stepOf(session).take(word, viewOf(session)))
}

/** @param effect that the last turn asked for */
export function effectDone(session: Session, effect: Effect, result: EffectResult): Turn {
  if (effect.kind === 'find') {
    const found = result.found ?? session.found
    const now = { ...session, found }
    return entered(now, result.lines)
  }
  const step = stepOf(session)
  const turn = step.done?.(result, viewOf(session))
  if (turn === undefined) return asked(session, result.lines)
  return followed(session, { ...turn, say: [...result.lines, ...sayOf(turn)] } as Taken)
}

/** A line for each answer, with the word that repeats it. */
function answeredLines(answers: Answers): string[] {
  const shown = steps.flatMap(({ id, shown }) => {
    const text = shown?.(answers)
    return text === undefined ? [] : [[id, text] as const]
  })
  const width = Math.max(0, ...shown.map(([id]) => id.length))
  return shown.map(([id, text]) => `  ${id.padEnd(width)}  ${text}`)
}

const stepNamed = (id: string): Step | undefined => steps.find((step) => step.id === id)
const stepOf = ({ step }: Session): Step => stepNamed(step)!
const viewOf = ({ answers, found, around, memo }: Session): View => ({
  ...{ answers, found, around, memo, answered: answeredLines(answers) },
})
const sayOf = (taken: Taken): readonly string[] => ('say' in taken ? (taken.say ?? []) : [])

function followed(session: Session, taken: Taken): Turn {
  const lines = sayOf(taken)
  switch (taken.to) {
    case 'ask':
      return asked({ ...session, memo: taken.memo ?? session.memo }, lines)
    case 'effect': {
      const memo = taken.memo ?? session.memo
      return { session: { ...session, memo }, lines, effect: taken.effect }
    }
    case 'end':
      return { session, lines, over: { isGood: taken.isGood } }
    case 'step':
      return repeated(session, taken.id)
    case 'next':
      return settledWith(session, taken.set ?? {}, lines)
  }
}

function settledWith(session: Session, set: Partial<Answers>, lines: readonly string[]): Turn {
  const { answers, step, settled, trail } = session
  const { reopens = [] } = stepOf(session)
  const changed = Object.entries(set).some(
    ([key, value]) => answers[key as keyof Answers] !== value,
  )
  const open = changed ? settled.filter((id) => !reopens.includes(id)) : settled
  const dropped = changed ? reopens.flatMap((id) => stepNamed(id)?.keys ?? []) : []
  const cleared = Object.fromEntries(dropped.map((key) => [key, undefined]))
  const now: Session = {
    ...session,
    answers: { ...answers, ...cleared, ...set },
    settled: [...new Set([...open, step])],
    trail: [...trail, { answers, step, settled }],
  }
  const next = steps.find(
    (one) => !now.settled.includes(one.id) && one.applies({ ...viewOf(now), memo: {} }),
  )!
  return entered({ ...now, step: next.id }, lines)
}

/** As if it had not been asked: its answers are forgotten. */
function skipped(session: Session): Turn {
  const { id, keys } = stepOf(session)
  if (id === lastStep)
    return asked(session, ['This one cannot be skipped: "write", "quit" or "back".'])
  return settledWith(session, Object.fromEntries(keys.map((key) => [key, undefined])), [])
}

function undone(session: Session): Turn {
  const before = session.trail.at(-1)
  if (before === undefined) return asked(session, ['This is the first question.'])
  return entered({ ...session, ...before, trail: session.trail.slice(0, -1) }, [])
}

/** One step once more; what it makes another answer of follows. */
function repeated(session: Session, id: string): Turn {
  const step = stepNamed(id)
  if (step === undefined || !step.applies(viewOf(session)))
    return asked(session, [`"${id}" is none of the steps above: type one of their words.`])
  const { answers, settled, trail } = session
  return entered(
    {
      ...session,
      step: id,
      settled: settled.filter((one) => one !== id),
      trail: [...trail, { answers, step: session.step, settled }],
    },
    [],
  )
}

function entered(session: Session, before: readonly string[]): Turn {
  const now = { ...session, memo: {} }
  const intro = stepOf(now).intro?.(viewOf(now)) ?? []
  return asked(now, [...before, '', ...intro])
}

const asked = (session: Session, lines: readonly string[]): Turn => ({
  session,
  lines,
  prompt: stepOf(session).prompt(viewOf(session)),
})

const lastStep = steps.at(-1)!.id
