import { useState } from 'preact/hooks'
import type { EventView } from '../../schemas'
import { timeOf } from '../format'
import { right } from '../model'
import { useReading, Waiting } from '../read'
import { words } from '../settings'

/** Kinds that somebody looks for; what is shown besides has them all. */
const choices = [
  'asked',
  'answered',
  'sent',
  'acknowledged',
  'refused',
  'ignored',
  'given up',
  'expired',
  'heard',
  'repaired',
  'damaged',
  'left',
  'delivered',
  'posted',
  'emergency',
  'overdue',
  'held',
  'hold',
  'release',
  'cut',
  'control',
  'client',
  'fault',
  'recovered',
]

export function Log() {
  const text = words.value
  const [station, setStation] = useState('')
  const [kind, setKind] = useState('')
  const call = /^[A-Za-z0-9]{1,9}(-\d{1,2})?$/.test(station) ? station : ''
  const query = new URLSearchParams({
    limit: '300',
    ...(call && { station: call }),
    ...(kind && { kind }),
  })
  const path = `events?${query}`
  const { value, why } = useReading<EventView[]>(path)
  return (
    <section aria-labelledby="q-log">
      <h2 id="q-log">{text.log.question}</h2>
      <form class="inline" onSubmit={(event) => event.preventDefault()}>
        <label>
          {text.log.station}
          <input
            value={station}
            maxLength={9}
            onInput={(event) => setStation(event.currentTarget.value.trim())}
          />
        </label>
        <label>
          {text.log.kind}
          <select value={kind} onChange={(event) => setKind(event.currentTarget.value)}>
            <option value="">{text.log.all}</option>
            {choices.map((one) => (
              <option key={one} value={one}>
                {text.kinds[one]}
              </option>
            ))}
          </select>
        </label>
      </form>
      {value === undefined && <Waiting why={why} />}
      {value?.length === 0 && <p class="quiet">{text.log.none}</p>}
      <ol class="plain log">
        {value?.toReversed().map((event) => (
          <li key={event.id}>
            <time>{timeOf(event.atWallMs)}</time> <b>{text.kinds[event.kind] ?? event.kind}</b>{' '}
            {event.station} <span class="said">{event.text}</span>
            {event.reason !== undefined && <span class="why"> {event.reason}</span>}
            {event.reference !== undefined && <span class="small"> {event.reference}</span>}
          </li>
        ))}
      </ol>
      <p>
        <a href={`/api/v1/${path}`}>{text.log.json}</a>{' '}
        {(right.value === 'read' || right.value === 'control') && (
          <a href="/api/v1/capture.pcap">{text.log.capture}</a>
        )}
      </p>
    </section>
  )
}
