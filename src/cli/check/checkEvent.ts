import { resolve } from 'node:path'
import type { Config } from '../../config/schema.js'
import { errorText } from '../../runtime/errorText.js'
import { describeRejected } from '../../services/data/rejected.js'
import { loadNames } from '../../services/event/parseNames.js'
import { type Finding, look, mend } from '../shared/finding.js'
import type { Probe } from './checkDevices.js'

/** What the event switches, and when. */
export function eventLines({ event }: Config): [string, string][] {
  const { name, from, to, exercise, names, services, announcements, status } = event
  return [
    ['event', `${name}${exercise ? ', an EXERCISE: what goes out for it says so' : ''}`],
    ['is on', `from ${from} to ${to}, local time`],
    ['tactical names', names === '' ? 'those that the operator gives' : names],
    ['only while it is on', ['roll', 'confirmed', ...services].join(', ')],
    ...(status === '' ? [] : ([['status', status]] as [string, string][])),
    ['announcements', announcements.length === 0 ? 'none' : String(announcements.length)],
  ]
}

/** Reads the names, and looks for what would do nothing. */
export async function probeEvent(config: Config, folder: string): Promise<Probe> {
  const { event, beacons, control, operator } = config
  if (event.name === '') return { good: [], findings: [] }
  const good: string[] = []
  const findings: Finding[] = []
  if (event.names !== '')
    try {
      const { entries, rejected, rejectedCount } = await loadNames(resolve(folder, event.names))
      good.push(`event.names: ${entries.length} tactical names of ${event.names}`)
      for (const row of rejected.slice(0, 5))
        findings.push(look('event.names', `left out: ${describeRejected(event.names, row)}`))
      if (rejectedCount > 5)
        findings.push(look('event.names', `left out: ${rejectedCount - 5} more lines`))
    } catch (error) {
      findings.push(mend('event.names', errorText(error)))
    }
  else if (control.file === '' && operator.socket === '')
    findings.push(
      look(
        'event',
        'nobody can give a tactical name: give event.names, operator.socket or control.file',
      ),
    )
  if (
    event.announcements.length > 0 &&
    !beacons.schedule.some(({ send }) => send === 'announcements')
  )
    findings.push(
      mend(
        'event.announcements',
        'no [[beacons.schedule]] has send = "announcements": they never go out',
      ),
    )
  return { good, findings }
}
