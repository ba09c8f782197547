import { parseConfig } from '../../config/load.js'
import {
  afterLook,
  beginHangSearch,
  type HangFound,
  hangMsFor,
  nearMs,
} from '../tone/hangSearch.js'
import { burstMs, longestGapMs } from '../tone/toneVox.js'
import { configText } from './configText.js'
import { ask, bracketed, numberIn, sayYesOrNo, yesOrNo } from './questions.js'
import { isCard } from './radioSteps.js'
import type { Effect, Step, Taken, View } from './session.js'

const dummyLoad = [
  'Put a dummy load on the radio in place of the antenna, set the lowest power, and watch its transmit light.',
  'It waits for a free channel, keeps the time-out and duty limits, and sends your call sign after it. Ctrl-C unkeys at once.',
]
const keyDelayMsAtFirst = 300
const mayTry = ({ answers }: View): boolean => answers.enabled === true

const keyEffect = (
  view: View,
  send: 'mark' | 'flags' | 'frame',
  rest: { readonly durationMs: number; readonly gapMs?: number },
): Effect => ({ kind: 'key', configText: configText(view.answers, view.around), send, ...rest })

/** Nothing but the word itself keys. */
const isYes = (word: string): boolean => /^yes$/i.test(word)

const tryKey: Step = {
  id: 'try',
  keys: [],
  applies: mayTry,
  intro: (view) => [
    isCard(view)
      ? 'To try it, the transmitter is keyed for one second with a steady tone.'
      : 'To try it, one short frame with your call sign is sent through the modem.',
    ...dummyLoad,
  ],
  prompt: ({ memo }) =>
    memo.worked === true
      ? 'Did the radio transmit? yes, no or again [yes]: '
      : 'Type "yes" to key it now, or Enter to leave it out [no]: ',
  take(word, view) {
    if (isYes(word) ? view.memo.worked !== true : word === 'again')
      return {
        to: 'effect',
        say: ['Keying.'],
        effect: keyEffect(view, isCard(view) ? 'mark' : 'frame', { durationMs: 1000 }),
      }
    const answered = yesOrNo(word, view.memo.worked === true)
    if (answered === undefined) return ask('Type yes, no or again.')
    if (view.memo.worked === true && !answered) return ask(...notKeyed(view))
    return { to: 'next' }
  },
  done: (result) => ({
    to: 'ask',
    memo: { tried: true, worked: result.ok },
    say: result.ok
      ? []
      : [
          'It was not sent. Mend what is named and type "yes" to try again; "back" changes the answers before.',
        ],
  }),
}

const notKeyed = (view: View): readonly string[] =>
  isCard(view) && view.answers.keying === 'vox'
    ? [
        'Turn the output of the card up, the VOX level of the radio too, and type "again"; "back" changes the output.',
      ]
    : [
        'Look at the line with a meter, at its transistor, at the plug. The other level may key ("low"), or another line: "back" goes to the questions before; "again" keys once more; "skip" goes on.',
      ]

const delay: Step = {
  id: 'delay',
  keys: ['keyDelayMs'],
  applies: (view) => mayTry(view) && isCard(view),
  intro: () => [
    `Key delay: from key down to the first frame. ${keyDelayMsAtFirst} ms suits most radios. To measure it, a second receiver with \`ridgepost levels\` (or a recording and \`ridgepost decode\`) hears a second of flags and names what is enough.`,
    ...dummyLoad,
  ],
  prompt: ({ answers, memo }) =>
    `${memo.tried ? 'The delay that was named, in ms, or again' : 'Type "yes" to send the flags now, or a delay in ms'}${bracketed(answers.keyDelayMs ?? keyDelayMsAtFirst)}: `,
  take(word, view) {
    if (isYes(word) || word === 'again')
      return {
        to: 'effect',
        say: ['Keying.'],
        effect: keyEffect(view, 'flags', { durationMs: 1000 }),
      }
    const value =
      word === '' ? (view.answers.keyDelayMs ?? keyDelayMsAtFirst) : numberIn(word, 0, 2550)
    return value === undefined || !Number.isInteger(value)
      ? ask('A whole number of milliseconds from 0 to 2550, or yes.')
      : { to: 'next', set: { keyDelayMs: value } }
  },
  done: () => ({ to: 'ask', memo: { tried: true } }),
  shown: ({ keyDelayMs }) => (keyDelayMs === undefined ? undefined : `${keyDelayMs} ms key delay`),
}

const hang: Step = {
  id: 'hang',
  keys: ['hangMs'],
  applies: (view) => mayTry(view) && isCard(view) && view.answers.keying === 'vox',
  intro: () => [
    'How long the radio stays on the air after its audio: no limit holds unless that counts. Set its VOX delay to the shortest. Two tones are sent with a silence between them; you say whether the transmit light went out in the silence. Each answer sends the next two tones, some eight times.',
    ...dummyLoad,
  ],
  prompt: ({ answers, memo }) =>
    memo.search !== undefined
      ? `Silence of ${memo.search.gapMs} ms: did the light go out in it? yes, no, again or stop: `
      : `Type "yes" to measure now, or the time in ms${bracketed(answers.hangMs ?? 3000)}: `,
  take(word, view) {
    const { search } = view.memo
    if (search === undefined) {
      if (isYes(word)) return beginHang(view)
      const value = word === '' ? (view.answers.hangMs ?? 3000) : numberIn(word, 0, 10_000)
      return value === undefined || !Number.isInteger(value)
        ? ask('A whole number of milliseconds from 0 to 10000, or yes.')
        : { to: 'next', set: { hangMs: value } }
    }
    if (word === 'again') return pulse(view, search)
    if (/^stop$/i.test(word)) return { to: 'ask', memo: {} }
    const wentOff = word === '' ? undefined : yesOrNo(word, false)
    if (wentOff === undefined) return sayYesOrNo
    const after = afterLook(search, wentOff)
    return 'next' in after ? pulse(view, after.next) : hangFound(after.found)
  },
  done: ({ ok }) => (ok ? { to: 'ask' } : { to: 'ask', memo: {} }),
  shown: ({ hangMs }) => (hangMs === undefined ? undefined : `${hangMs} ms hang`),
}

function hangFound(found: HangFound): Taken {
  const { fromMs, toMs } = found
  if (!Number.isFinite(toMs))
    return {
      to: 'ask',
      memo: {},
      say: [
        `It stays on the air for more than ${fromMs} ms: shorten its VOX delay. Is it keyed by the audio at all?`,
      ],
    }
  const hangMs = hangMsFor(found)
  return {
    to: 'next',
    set: { hangMs },
    say: [
      `It stays on the air for ${fromMs} to ${toMs} ms: ${hangMs} ms is written, a tenth more.`,
    ],
  }
}

/** The radio of the answers so far, as the transmit control will have it. */
const radioOf = (view: View) =>
  parseConfig(configText(view.answers, view.around), 'setup').radios[0]!

function beginHang(view: View): Taken {
  const gapMsMax = longestGapMs(radioOf(view))
  return gapMsMax < nearMs
    ? ask(
        'The time-out timer leaves no room for two tones and this hang: type a shorter time first.',
      )
    : pulse(view, beginHangSearch(gapMsMax))
}

function pulse(view: View, search: NonNullable<View['memo']['search']>): Taken {
  const { gapMs } = search
  const durationMs = 2 * (radioOf(view).transmit.keyDelayMs + burstMs) + gapMs
  return {
    to: 'effect',
    memo: { tried: true, search },
    effect: keyEffect(view, 'mark', { durationMs, gapMs }),
  }
}

/** What keys, with somebody there. */
export const trialSteps: readonly Step[] = [tryKey, delay, hang]
