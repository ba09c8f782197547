import { useState } from 'preact/hooks'
import type { TryState } from '../../schemas'
import { useAction } from '../action'
import { change } from '../api'
import { timeOf } from '../format'
import { state, tryState } from '../model'
import { useReading, Waiting } from '../read'
import { words } from '../settings'
import { Hearing } from './now'
import { Listen } from './setup'

/** A simulated hand-held on one side, what the node makes of it on the other. */
export function Try() {
  const text = words.value.try
  const { value, why } = useReading<TryState>('try')
  if (state.value?.canTry !== true) return <p>{text.none}</p>
  const hand = (tryState.value as TryState | undefined) ?? value
  if (hand === undefined) return <Waiting why={why} />
  return (
    <div class="now">
      <div class="beside first">
        <section aria-labelledby="q-try" class="hand-held">
          <h2 id="q-try">{text.question}</h2>
          <p>{text.intro(hand.call, hand.nodeCall)}</p>
          <Ask />
          <Noise cnrDb={hand.cnrDb} />
          <Listen radio={0} label={text.listen} />
          <Screen hand={hand} />
        </section>
      </div>
      <Hearing />
    </div>
  )
}

function Ask() {
  const text = words.value.try
  const [question, setQuestion] = useState('')
  const { run, problem } = useAction()
  const submit = (event: Event): void => {
    event.preventDefault()
    run(async () => {
      tryState.value = await change<TryState>('POST', 'try/messages', { text: question })
      setQuestion('')
    })
  }
  return (
    <form onSubmit={submit}>
      <label>
        {text.text}
        <input
          value={question}
          maxLength={67}
          required
          autocomplete="off"
          onInput={(event) => setQuestion(event.currentTarget.value)}
        />
      </label>
      <button type="submit" class="strong">
        {text.send}
      </button>{' '}
      {problem}
    </form>
  )
}

/** What such a path sounds like, by carrier over noise in a channel of 12.5 kHz (found by trial in the simulation). */
function strengthOf(cnrDb: number): string {
  const { strength } = words.value.try
  if (cnrDb < 2) return strength.lost
  if (cnrDb < 4) return strength.edge
  if (cnrDb < 8) return strength.fair
  return cnrDb < 14 ? strength.good : strength.loud
}

function Noise({ cnrDb }: { readonly cnrDb: number }) {
  const text = words.value.try
  const [value, setValue] = useState(cnrDb)
  const { run, problem } = useAction()
  const said = text.noiseValue(String(value), strengthOf(value))
  return (
    <div>
      <label>
        {text.noise} <span class="small">{said}</span>
        <input
          type="range"
          min={-3}
          max={20}
          step={1}
          value={value}
          aria-valuetext={said}
          onInput={(event) => setValue(Number(event.currentTarget.value))}
          onChange={(event) => {
            const wanted = Number(event.currentTarget.value)
            run(() => change('PUT', 'try/noise', { cnrDb: wanted }))
          }}
        />
      </label>
      {problem}
    </div>
  )
}

function Screen({ hand }: { readonly hand: TryState }) {
  const text = words.value.try
  const lines = [
    ...hand.sent.map((one) => ({ atWallMs: one.startedWallMs, sent: one, shown: undefined })),
    ...hand.shown.map((one) => ({ atWallMs: one.atWallMs, sent: undefined, shown: one })),
  ].sort((a, b) => b.atWallMs - a.atWallMs)
  return (
    <>
      <h3>{text.screen}</h3>
      {lines.length === 0 && <p class="quiet">{text.empty}</p>}
      <ol class="screen">
        {lines.map(({ atWallMs, sent, shown }) =>
          sent !== undefined ? (
            <li key={`s${sent.number}`} class="mark heard">
              <time>{timeOf(atWallMs)}</time> {text.you}: <q>{sent.text}</q>{' '}
              <span class="small">
                {text.times(sent.transmissions)}, {text.states[sent.state] ?? sent.state}
              </span>
            </li>
          ) : (
            <li key={`r${atWallMs}${shown!.text}`} class="mark ours">
              <time>{timeOf(atWallMs)}</time> {hand.nodeCall}: <q>{shown!.text}</q>
            </li>
          ),
        )}
      </ol>
    </>
  )
}
