import { useState } from 'preact/hooks'
import { goodLevelDbfs } from '../../../radio/packetAdvice'
import type { Budget, Conversation, RadioView, StationView } from '../../schemas'
import { useAction } from '../action'
import { change } from '../api'
import { db, duration, timeOf } from '../format'
import { lastQuality, now, right, state } from '../model'
import { useReading, Waiting } from '../read'
import { shownRadio, words } from '../settings'
import { useSounds } from '../sound'
import { radiosShown, Strip } from '../strip'
import { Rings } from './rings'
import { StationTable } from './stations'
import { Thread } from './threads'

/** The five questions, of which the first stands in the head. */
export function Now() {
  return (
    <div class="now">
      <Hearing />
      <div class="beside">
        <WhoIsThere />
        <Asked />
        <MaySend />
        {right.value === 'control' && <Hand />}
      </div>
    </div>
  )
}

export function Hearing() {
  const text = words.value
  const radios = state.value?.radios ?? []
  const shown = radiosShown()
  return (
    <section aria-labelledby="q-hearing">
      <h2 id="q-hearing">{text.questions.hearing}</h2>
      {radios.length > 1 && (
        <label>
          {text.radioFilter}{' '}
          <select
            value={shownRadio.value ?? ''}
            onChange={({ currentTarget: { value } }) => {
              shownRadio.value = value === '' ? undefined : Number(value)
            }}
          >
            <option value="">{text.allRadios}</option>
            {radios.map((one) => (
              <option key={one.radio} value={one.radio}>
                {one.name}
              </option>
            ))}
          </select>
        </label>
      )}
      {shown.map((radio) => (
        <LevelLine key={radio.radio} radio={radio} isNamed={shown.length > 1} />
      ))}
      <Strip radios={shown} />
    </section>
  )
}

const clippedMax = 0.01
const strongDb = 20
const silence = -100

function levelAdvice({
  levelDbfs,
  clippedShare,
  ebN0Db,
}: NonNullable<StationView['quality']>): string {
  const { level } = words.value
  // The noise of a weak signal reaches the limits by itself.
  if (clippedShare > clippedMax && ebN0Db > strongDb) return level.clipping
  if (levelDbfs > goodLevelDbfs.max) return level.high
  return levelDbfs < goodLevelDbfs.min ? level.low : level.good
}

/** Of frames, where one was read: the noise of an open squelch is louder than they are, and says nothing of the setting. */
export function LevelLine({
  radio,
  isNamed = false,
}: {
  readonly radio: RadioView
  readonly isNamed?: boolean
}) {
  const text = words.value
  const { reading } = radio
  const quality = lastQuality.value[radio.radio]
  const name = isNamed && <strong>{radio.name}: </strong>
  const [sound] = useSounds([radio])
  if (reading === undefined && radio.receiving && sound !== 'none') return null
  if (reading === undefined)
    return (
      <p class="quiet">
        {name}
        {radio.receiving ? text.notTold : text.state.deaf}
      </p>
    )
  return (
    <p>
      {name}
      {reading.rmsDbfs < silence ? text.level.none : text.level.now(db(reading.rmsDbfs))}{' '}
      {quality && text.level.frames(db(quality.levelDbfs), levelAdvice(quality))}{' '}
      {text.counts(reading.readCount, reading.repairedCount, reading.damagedCount)}{' '}
      {reading.losses && text.losses(reading.losses.cause, reading.losses.count, reading.losses.of)}
    </p>
  )
}

function WhoIsThere() {
  const text = words.value
  const { value: stations, why } = useReading<StationView[]>('stations?limit=40')
  return (
    <section aria-labelledby="q-who">
      <h2 id="q-who">{text.questions.who}</h2>
      {stations === undefined ? (
        <Waiting why={why} />
      ) : (
        <>
          <Rings stations={stations} />
          <StationTable stations={stations.slice(0, 8)} isShort />
          <p>
            <a href="#/stations">{text.station.all}</a>
          </p>
        </>
      )}
    </section>
  )
}

function Asked() {
  const text = words.value
  const { value: threads, why } = useReading<Conversation[]>('conversations?limit=4')
  return (
    <section aria-labelledby="q-asked">
      <h2 id="q-asked">{text.questions.asked}</h2>
      {threads === undefined ? <Waiting why={why} /> : null}
      {threads?.length === 0 && <p class="quiet">{text.thread.none}</p>}
      {threads?.map((thread) => (
        <Thread key={thread.id} thread={thread} />
      ))}
    </section>
  )
}

function MaySend() {
  const text = words.value
  const radios = state.value?.radios ?? []
  const shown = radios.length > 1 ? radios : radios.slice(0, 1)
  return (
    <section aria-labelledby="q-send">
      <h2 id="q-send">{text.questions.send}</h2>
      {shown.map((radio) => (
        <div key={radio.radio}>
          {radios.length > 1 && <h3>{radio.name}</h3>}
          {radio.blockedBy !== undefined && radio.holds.length === 0 ? (
            <p class="mark waits">{text.mayNotSend(radio.blockedBy)}</p>
          ) : (
            <BudgetWords budget={radio.budget} />
          )}
          {radio.budget.limits.map((limit) => (
            <Band key={limit.windowMs} budget={radio.budget} limit={limit} />
          ))}
          <Queue radio={radio} />
        </div>
      ))}
    </section>
  )
}

function BudgetWords({ budget }: { readonly budget: Budget }) {
  const text = words.value
  const { freeMs, moreAtWallMs } = budget
  return (
    <p>
      {freeMs === undefined ? text.noLimit : text.free(duration(freeMs))}{' '}
      {moreAtWallMs !== undefined &&
        moreAtWallMs > now.value &&
        text.budget.more(timeOf(moreAtWallMs))}
    </p>
  )
}

const halfHourMs = 1_800_000
const bandSteps = 90
const band = { width: 360, height: 54 }

/** One limit over half an hour: how much of its allowance was used, and each transmission as a mark below. */
function Band({
  budget,
  limit,
}: {
  readonly budget: Budget
  readonly limit: Budget['limits'][number]
}) {
  const text = words.value
  const nowMs = now.value
  const allowedMs = limit.windowMs * limit.share
  const usedAt = (atMs: number): number => {
    let sum = 0
    for (const { fromWallMs, toWallMs } of budget.spans)
      sum += Math.max(0, Math.min(toWallMs, atMs) - Math.max(fromWallMs, atMs - limit.windowMs))
    return Math.min(1, sum / allowedMs)
  }
  const xOf = (atMs: number): number => band.width * (1 - (nowMs - atMs) / halfHourMs)
  const points = Array.from({ length: bandSteps + 1 }, (_, step) => {
    const atMs = nowMs - halfHourMs * (1 - step / bandSteps)
    return `${xOf(atMs).toFixed(1)},${(band.height * (1 - usedAt(atMs))).toFixed(1)}`
  })
  const marks = budget.spans.filter(({ toWallMs }) => toWallMs > nowMs - halfHourMs)
  const window = duration(limit.windowMs)
  return (
    <figure class="band">
      <figcaption>
        {text.budget.limit(window, duration(limit.usedMs), duration(allowedMs))}
      </figcaption>
      <svg
        viewBox={`0 0 ${band.width} ${band.height + 10}`}
        role="img"
        aria-label={text.budget.bandLabel(window)}
      >
        <line class="limit" x1="0" y1="1" x2={band.width} y2="1" />
        <polygon
          class="used"
          points={`0,${band.height} ${points.join(' ')} ${band.width},${band.height}`}
        />
        <line class="ground" x1="0" y1={band.height} x2={band.width} y2={band.height} />
        {marks.map(({ fromWallMs, toWallMs }) => (
          <rect
            key={fromWallMs}
            class="mark-sent"
            x={Math.max(0, xOf(fromWallMs))}
            y={band.height + 3}
            width={Math.max(1.2, xOf(toWallMs) - Math.max(0, xOf(fromWallMs)))}
            height="7"
          />
        ))}
      </svg>
      <p class="band-ends small" aria-hidden="true">
        <span>{text.budget.ago}</span>
        <span>{text.budget.now}</span>
      </p>
    </figure>
  )
}

function Queue({ radio }: { readonly radio: RadioView }) {
  const text = words.value
  const { run, problem } = useAction()
  if (radio.queue.length === 0) return null
  return (
    <>
      <h3>{text.budget.queue}</h3>
      <ol class="plain">
        {radio.queue.map(({ id, text: what, station, sinceWallMs, heldFor }) => (
          <li key={id}>
            <time>{timeOf(sinceWallMs)}</time> {station} {what}
            {heldFor !== undefined && <span class="mark waits"> {heldFor}</span>}{' '}
            {right.value === 'control' && (
              <button
                type="button"
                aria-label={text.budget.dropOf(what)}
                onClick={() =>
                  run(() =>
                    change('DELETE', `radios/${radio.radio}/queue/${encodeURIComponent(id)}`),
                  )
                }
              >
                {text.budget.drop}
              </button>
            )}
          </li>
        ))}
      </ol>
      {problem}
    </>
  )
}

/** Beacons and messages by hand. */
function Hand() {
  const text = words.value
  const [to, setTo] = useState('')
  const [message, setMessage] = useState('')
  const [said, setSaid] = useState<string | undefined>(undefined)
  const send = useAction()
  const beacon = useAction()
  const submit = (event: Event): void => {
    event.preventDefault()
    setSaid(undefined)
    send.run(async () => {
      const answer = await change<{ reference: string }>('POST', 'messages', { to, text: message })
      setSaid(answer?.reference)
      setMessage('')
    })
  }
  return (
    <section aria-labelledby="q-hand">
      <h2 id="q-hand">{text.questions.hand}</h2>
      <form onSubmit={submit}>
        <h3>{text.hand.message}</h3>
        <label>
          {text.hand.to}
          <input
            value={to}
            maxLength={9}
            required
            autocapitalize="characters"
            onInput={(event) => setTo(event.currentTarget.value)}
          />
        </label>
        <label>
          {text.hand.text}
          <input
            value={message}
            maxLength={67}
            required
            onInput={(event) => setMessage(event.currentTarget.value)}
          />
        </label>
        <button type="submit">{text.hand.send}</button> {send.problem}
        {said !== undefined && <span class="mark may">{text.hand.sent(said)}</span>}
      </form>
      <h3>{text.hand.beacon}</h3>
      <p class="buttons">
        {state.value?.beaconKinds.map((kind) => (
          <button
            type="button"
            key={kind}
            onClick={() => beacon.run(() => change('POST', `beacons/${kind}`, {}))}
          >
            {text.hand.beacons[kind] ?? kind}
          </button>
        ))}
        {beacon.isDone && <span class="mark may">{text.hand.done}</span>}
        {beacon.problem}
      </p>
    </section>
  )
}
