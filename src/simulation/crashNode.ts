// Entry of the process that holds the node while the world around it is simulated in its parent, which kills it now and then.
import { airtime, reserveOf } from '../radio/airtime.js'
import { createContentPlan } from '../radio/contentPlan.js'
import { createDutyLedger } from '../radio/dutyLedger.js'
import type { HeardFrame, Port, TransmitOutcome } from '../radio/port.js'
import { seededRandom } from '../runtime/random.js'
import { virtualClock } from '../runtime/virtualClock.js'
import { openStore } from '../store/store.js'
import { type FromNode, hexOf, octetsOf, type ToNode } from './crashProtocol.js'
import { simulatedNode } from './runSimulation.js'
import { nodeCall, nodeDutyShare } from './scenario.js'
import { simulatedTransmit } from './simulatedRadio.js'

const tell = (message: FromNode): void => {
  process.send?.(message)
}

const clock = virtualClock()
let onFrame: (frame: HeardFrame) => void = () => {}
let onOutcome: (outcome: TransmitOutcome) => void = () => {}
let finish: () => void = () => process.exit(0)
let busyCount: () => number = () => 0

const transmit = simulatedTransmit(nodeCall, nodeDutyShare)
const limits = transmit.dutyLimits
const ledger = createDutyLedger(limits)
const plan = createContentPlan(transmit)
const reserveMs = reserveOf(transmit)

const port: Port = {
  radio: 0,
  name: 'the parent',
  send: ({ id, octets, priority, notAfterMs }) =>
    tell({ kind: 'send', id, octets: hexOf(octets), priority, notAfterMs }),
  withdraw: (id) => tell({ kind: 'withdraw', id }),
  onFrame: (listener) => {
    onFrame = listener
  },
  onOutcome: (listener) => {
    onOutcome = listener
  },
  state: () => ({
    receiving: true,
    channelBusy: false,
    keyed: false,
    queuedCount: 0,
    dutyUsed: 0,
  }),
  airtime: () => airtime({ ...{ limits, ledger, plan, reserveMs }, nowMs: clock.monotonicMs() }),
  close: async () => {},
}

/** The radio's own reckoning stays with the parent: here it is done again, out of what was sent. */
const takeOutcome = (outcome: TransmitOutcome): void => {
  const { kind, atMs } = outcome
  if (kind === 'sent') ledger.note({ fromMs: atMs - outcome.airtimeMs, toMs: atMs })
  onOutcome(outcome)
}

const done = (): void => {
  tell({ kind: 'done', nextAtMs: clock.nextAtMs(), busyMessageCount: busyCount() })
}

async function open(file: string, atMs: number, seed: number): Promise<void> {
  await clock.advanceToAsync(atMs)
  // every gathered write is a step of its own between two processes: fewer of them save real time
  const store = openStore({ file, clock, flushIntervalMs: 10_000 })
  const node = simulatedNode({ port, clock, random: seededRandom(seed), store })
  busyCount = () => node.state().openMessageCount - node.state().parkedMessageCount
  finish = () => {
    node.stop()
    store.close()
    process.exit(0)
  }
  node.start()
  await clock.advanceToAsync(atMs)
  done()
}

async function step(message: Extract<ToNode, { kind: 'step' }>): Promise<void> {
  await clock.advanceToAsync(message.atMs)
  for (const outcome of message.outcomes) takeOutcome(JSON.parse(outcome) as TransmitOutcome)
  for (const octets of message.frames) {
    onFrame({
      octets: octetsOf(octets),
      radio: 0,
      heardAtMs: clock.monotonicMs(),
      heardAtWallMs: clock.wallMs(),
      repairedBits: 0,
      detector: 'simulation',
    })
  }
  await clock.advanceToAsync(message.atMs)
  done()
}

process.on('message', (message: ToNode) => {
  if (message.kind === 'open') void open(message.file, message.atMs, message.seed)
  else if (message.kind === 'step') void step(message)
  else finish()
})
// the parent is gone: nobody is left to talk to
process.on('disconnect', () => process.exit(0))
tell({ kind: 'ready' })
