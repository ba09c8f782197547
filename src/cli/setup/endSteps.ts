import { isAbsolute, join } from 'node:path'
import { configText, isServiceFile } from './configText.js'
import { ask, bracketed, sayYesOrNo, yesOrNo } from './questions.js'
import type { Answers, Step } from './session.js'

type DataKey = 'repeaters' | 'places' | 'satellites' | 'cards'

/** A file of data, looked for at once. */
function dataStep(id: DataKey, question: string): Step {
  return {
    id,
    keys: [id],
    applies: () => true,
    prompt: ({ answers }) => `${question}${bracketed(answers[id] ?? 'none')}: `,
    take(word, { answers, around }) {
      if (word === '') return { to: 'next', set: { [id]: answers[id] } }
      if (/^none$/i.test(word)) return { to: 'next', set: { [id]: undefined } }
      const path = isAbsolute(word) ? word : join(around.workingFolder, word)
      return { to: 'effect', effect: { kind: 'look', path }, memo: { path } }
    },
    done: (result, { memo }) =>
      result.ok ? { to: 'next', set: { [id]: memo.path } } : { to: 'ask', memo: {} },
    shown: (answers: Answers) => answers[id],
  }
}

const data: readonly Step[] = [
  {
    ...dataStep('repeaters', 'CSV directory of repeaters'),
    intro: () => [
      'Data at hand, all of it optional; it can be added later (`ridgepost load`). README, "Data", says how each looks.',
    ],
  },
  dataStep('places', 'CSV list of places that people may name'),
  dataStep('satellites', 'Element sets of satellites'),
  dataStep('cards', 'Folder of cards (Markdown or CSV) that the club wrote'),
]

const write: Step = {
  id: 'write',
  keys: [],
  applies: () => true,
  intro: ({ answered, around }) => [
    'This is what is answered:',
    ...answered,
    'A word of the first column asks that one again.',
    ...(around.fileIsThere ? [`${around.file} is there already.`] : []),
  ],
  prompt: ({ around, memo }) =>
    memo.tried
      ? `Replace ${around.file}, and keep the old one as ${around.asideFile}? [no]: `
      : `"write" writes ${around.file}: `,
  take(word, view) {
    const { answers, around, memo } = view
    const { file, asideFile, fileIsThere } = around
    const text = configText(answers, around)
    if (memo.tried === true) {
      const wanted = yesOrNo(word, false)
      if (wanted === undefined) return sayYesOrNo
      if (!wanted)
        return {
          to: 'ask',
          memo: {},
          say: ['Left as it is. "quit" ends; `ridgepost setup OTHER.toml` writes to another file.'],
        }
      return { to: 'effect', effect: { kind: 'write', file, text, asideFile } }
    }
    if (/^w(rite)?$/i.test(word))
      return fileIsThere
        ? { to: 'ask', memo: { tried: true } }
        : { to: 'effect', effect: { kind: 'write', file, text, asideFile: undefined } }
    return word === ''
      ? ask('Type "write", a word of the list, "back" or "quit".')
      : { to: 'step', id: word.toLowerCase() }
  },
  done(result, { around: { file }, memo }) {
    if (memo.checking === true) return { to: 'end', isGood: result.ok, say: nextLines(file) }
    return result.ok
      ? { to: 'effect', effect: { kind: 'check', file }, memo: { checking: true } }
      : { to: 'ask', memo: { tried: result.isThere === true } }
  },
}

/** Root may open what the service may not: it looks once more as the service does. */
const nextLines = (file: string): string[] =>
  isServiceFile(file)
    ? [
        '',
        `Next: \`runuser -u ridgepost -- ridgepost check ${file}\`, as the service sees it, then \`systemctl start ridgepost\`.`,
      ]
    : [
        '',
        `Next: \`ridgepost check ${file}\` once more after what is to mend, then \`ridgepost run ${file}\`.`,
      ]

/** What it answers from, and the end. */
export const endSteps: readonly Step[] = [...data, write]
