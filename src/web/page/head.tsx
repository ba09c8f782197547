import { useState } from 'preact/hooks'
import type { RadioView } from '../schemas'
import { useAction } from './action'
import { change } from './api'
import { duration, timeOf } from './format'
import { connection, emergencies, lostSinceMs, now, right, state } from './model'
import { words } from './settings'
import { useSounds } from './sound'

/** Before all else: who called for help. What was heard, not what is true. */
export function Emergencies() {
  const text = words.value
  if (emergencies.value.length === 0) return null
  return (
    <section aria-labelledby="q-help" class="help" role="alert">
      <h2 id="q-help">{text.questions.help}</h2>
      <ol class="plain">
        {emergencies.value.map(({ id, atWallMs, station = '', text: said, reason }) => (
          <li key={id} class="mark wrong">
            <time>{timeOf(atWallMs)}</time>{' '}
            <a href={`#/stations/${encodeURIComponent(station)}`}>{station}</a>{' '}
            <b>{text.kinds.emergency}</b> {said}
            {reason !== undefined && <span class="why"> {reason}</span>}
          </li>
        ))}
      </ol>
    </section>
  )
}

/** The first words of the page: is it well, may it send, and the hand on it. */
export function Well() {
  const text = words.value
  const view = state.value
  if (view?.radios === undefined) return null
  return (
    <section aria-labelledby="q-well" class="well">
      <h2 id="q-well">{text.questions.well}</h2>
      {view.trouble !== undefined && <p class="wrong mark">{text.trouble(view.trouble)}</p>}
      {view.radios.map((radio) => (
        <RadioState
          key={radio.radio}
          radio={radio}
          call={view.call}
          several={view.radios.length > 1}
        />
      ))}
      <BrokerLine />
      {view.faults?.map(({ atWallMs, text: what }) => (
        <p key={what} class="wrong mark">
          {text.fault(timeOf(atWallMs), what)}
        </p>
      ))}
      {view.isClockTrusted === false && <p class="waits mark">{text.clockNotTrusted}</p>}
    </section>
  )
}

/** The way to other nodes that needs no airtime, where one is configured. */
function BrokerLine() {
  const broker = state.value?.broker
  if (broker === undefined) return null
  const { isUp, trouble = '', openCount } = broker
  return <p class={isUp ? 'quiet' : 'wrong mark'}>{words.value.broker(isUp, trouble, openCount)}</p>
}

type Condition = 'sending' | 'held' | 'busy' | 'listening' | 'deaf'

export function conditionOf(radio: RadioView): Condition {
  if (radio.keyed) return 'sending'
  if (!radio.receiving) return 'deaf'
  if (radio.holds.length > 0) return 'held'
  return radio.channelBusy ? 'busy' : 'listening'
}

function RadioState({
  radio,
  call,
  several,
}: {
  readonly radio: RadioView
  readonly call: string
  readonly several: boolean
}) {
  const text = words.value
  const { budget } = radio
  const [sound] = useSounds([radio])
  const sentence = radio.keyed
    ? text.state.sending
    : !radio.receiving
      ? text.state.deaf
      : radio.channelBusy
        ? text.state.busy
        : sound === 'none'
          ? text.state.silent
          : text.state.listening
  const isOff = radio.blockedBy !== undefined && radio.holds.length === 0
  const manner = radio.keyed
    ? 'ours'
    : radio.receiving
      ? radio.channelBusy
        ? 'heard'
        : 'plain'
      : 'wrong'
  const operatorHolds = radio.holds.some(({ source }) => source === 'operator')
  return (
    <div class="radio-state">
      <p class={`sentence mark ${manner}`}>
        <strong>{several ? `${call}, ${radio.name}` : call}</strong>: {sentence}
      </p>
      {radio.holds.map(({ source, reason, sinceWallMs }) => (
        <p key={source} class="mark waits">
          {text.heldBy(source, reason, timeOf(sinceWallMs))}
        </p>
      ))}
      <p class={radio.blockedBy === undefined ? 'mark may' : isOff ? 'mark waits' : ''}>
        {radio.blockedBy === undefined
          ? text.maySend
          : isOff
            ? text.mayNotSend(radio.blockedBy)
            : ''}{' '}
        {!isOff &&
          (budget.freeMs === undefined ? text.noLimit : text.free(duration(budget.freeMs)))}{' '}
        {text.queued(radio.queue.length)}{' '}
        {budget.owedSinceWallMs !== undefined && text.owed(timeOf(budget.owedSinceWallMs))}
      </p>
      {radio.doubt !== undefined && <p class="mark waits">{radio.doubt}</p>}
      {right.value === 'control' && <HoldButton radio={radio.radio} isHeld={operatorHolds} />}
    </div>
  )
}

function HoldButton({ radio, isHeld }: { readonly radio: number; readonly isHeld: boolean }) {
  const text = words.value
  const [reason, setReason] = useState('')
  const { run, problem } = useAction()
  const path = `radios/${radio}/hold`
  if (isHeld)
    return (
      <p>
        <button type="button" onClick={() => run(() => change('DELETE', path))}>
          {text.release}
        </button>
        {problem}
      </p>
    )
  const submit = (event: Event): void => {
    event.preventDefault()
    run(() => change('PUT', path, { reason }))
  }
  return (
    <form class="inline" onSubmit={submit}>
      <button type="submit" class="strong">
        {text.hold}
      </button>
      <label>
        <span class="small">{text.holdReason}</span>
        <input
          value={reason}
          maxLength={60}
          onInput={(event) => setReason(event.currentTarget.value)}
        />
      </label>
      {problem}
    </form>
  )
}

/** What is wrong between this page and the node. */
export function ConnectionLine() {
  const text = words.value.connection
  switch (connection.value) {
    case 'live':
      return null
    case 'starting':
      return <p class="connection quiet">{text.starting}</p>
    case 'refused':
      return <p class="connection mark wrong">{text.refused}</p>
    case 'lost': {
      // The node's own time stands still meanwhile; this browser's does not.
      void now.value
      const seconds = Math.max(1, Math.round((Date.now() - lostSinceMs.value) / 1000))
      return (
        <p class="connection mark wrong">
          {/* Said once: the seconds would be read out each second. */}
          <span class="unseen" role="alert">
            {text.lostNow}
          </span>
          <span aria-hidden="true">{text.lost(seconds)}</span>
        </p>
      )
    }
  }
}
