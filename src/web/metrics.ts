import type { Feed } from './feed.js'
import type { PageParts } from './parts.js'
import { budgetView } from './stateView.js'

type Labels = Readonly<Record<string, string>>
interface Metric {
  readonly name: string
  readonly help: string
  readonly type: 'gauge' | 'counter'
  readonly values: readonly (readonly [Labels, number])[]
}

/** Text for Prometheus, version 0.0.4 of its format. */
export function metricsText(parts: PageParts, feed: Feed): string {
  const { node, store, ports, clock } = parts
  const state = node.state()
  const one = (value: number): readonly (readonly [Labels, number])[] => [[{}, value]]
  const each = (value: (port: (typeof ports)[number]) => number | undefined) =>
    ports.flatMap((port) => {
      const found = value(port)
      return found === undefined ? [] : ([[{ radio: port.name }, found]] as const)
    })
  const { counters, usedBytes, pendingCount } = store.state()
  const metrics: readonly Metric[] = [
    gauge('up', 'whether the node is well', one(parts.trouble() === undefined ? 1 : 0)),
    counter('frames_heard', 'frames heard since the start', one(state.framesHeardCount)),
    gauge('questions_open', 'questions being answered', one(state.openQuestionCount)),
    gauge('messages_open', 'messages under way', one(state.openMessageCount)),
    gauge('mailbox_letters', 'letters that wait', one(state.mailboxCount)),
    counter('faults', 'mistakes of the program that were caught', one(state.faultCount)),
    gauge('stations_known', 'stations heard', one(store.stations.count)),
    gauge('database_bytes', 'size of the database', one(usedBytes)),
    gauge('database_pending', 'writes that are gathered', one(pendingCount)),
    counter('database_faults', 'writes that failed', one(counters.faultCount)),
    gauge('page_viewers', 'who looks at the page', one(feed.stream.viewerCount)),
    counter('page_resets', 'viewers that were too slow', one(feed.stream.resetCount)),
    gauge(
      'receiving',
      'whether audio flows',
      each((port) => Number(port.state().receiving)),
    ),
    gauge(
      'keyed',
      'whether the key line is on',
      each((port) => Number(port.state().keyed)),
    ),
    gauge(
      'may_send',
      'whether sending is allowed now',
      each((port) => (port.state().transmitBlockedBy === undefined ? 1 : 0)),
    ),
    gauge(
      'duty_used',
      'share of the duty limit, 0 to 1',
      each((port) => port.state().dutyUsed),
    ),
    gauge(
      'airtime_free_seconds',
      'airtime for answers now',
      each((port) => {
        const { freeMs } = budgetView(port, clock)
        return freeMs === undefined ? undefined : freeMs / 1000
      }),
    ),
    gauge(
      'queue_frames',
      'frames that wait',
      each(({ radio }) => state.waiting.filter((frame) => frame.radio === radio).length),
    ),
    {
      ...{ name: 'endings_total', help: 'what came to nothing since the start', type: 'counter' },
      values: state.endings.map(({ what, reason, count }) => [{ what, reason }, count] as const),
    },
  ]
  return metrics.map(metricLines).join('')
}

const gauge = (name: string, help: string, values: Metric['values']): Metric => ({
  ...{ name, help, values, type: 'gauge' },
})
const counter = (name: string, help: string, values: Metric['values']): Metric => ({
  ...{ name: `${name}_total`, help, values, type: 'counter' },
})

function metricLines({ name, help, type, values }: Metric): string {
  const full = `ridgepost_${name}`
  const lines = values.map(([labels, value]) => `${full}${labelText(labels)} ${value}\n`)
  return `# HELP ${full} ${help}\n# TYPE ${full} ${type}\n${lines.join('')}`
}

function labelText(labels: Labels): string {
  const entries = Object.entries(labels)
  if (entries.length === 0) return ''
  const escaped = (text: string): string =>
    text.replaceAll('\\', '\\\\').replaceAll('"', '\\"').replaceAll('\n', '\\n')
  return `{${entries.map(([key, value]) => `${key}="${escaped(value)}"`).join(',')}}`
}
