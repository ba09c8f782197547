import { resolve } from 'node:path'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { createAllowList, isLoopback } from '../../kiss/allowList.js'
import { createKissHub } from '../../kiss/hub.js'
import { startKissTcp } from '../../kiss/tcpServer.js'
import { errorText } from '../../runtime/errorText.js'
import {
  createServices,
  type OpenServices,
  reservedKeywords,
  type ServiceEvent,
} from '../../services/all.js'
import { readinessOf } from '../../services/readiness.js'
import { weatherWords } from '../../services/weather/words.js'
import { serviceOptions } from '../../setup/serviceOptions.js'
import { inEnglish } from '../../words/air/all.js'
import { type Finding, look, mend } from '../shared/finding.js'
import { joined, type Probe, probeWritable } from './checkDevices.js'
import { probeEvent } from './checkEvent.js'

/** Really loads the services' data, and looks at database and ports. */
export async function probeData(config: Config, folder: string, edges: Edges): Promise<Probe> {
  return joined([
    await probeServices(config, folder, edges),
    await probeEvent(config, folder),
    config.store.file === ':memory:'
      ? { good: [], findings: [] }
      : await probeWritable('store.file', resolve(folder, config.store.file)),
    await probeKiss(config, edges),
  ])
}

/** Lines of a data file that are shown; the rest is counted. */
const rejectedShown = 5

async function probeServices(config: Config, folder: string, edges: Edges): Promise<Probe> {
  const good: string[] = []
  const findings: Probe['findings'][number][] = []
  const take = (event: ServiceEvent): void => {
    if (event.kind === 'fault') {
      findings.push(mend(event.what, event.reason))
    } else if (event.kind === 'loaded') {
      good.push(`${event.what}: ${event.count} entries of ${event.file}`)
      const shown = event.rejected.slice(0, rejectedShown)
      for (const line of shown) findings.push(look(event.what, `left out: ${line}`))
      if (event.rejectedCount > shown.length)
        findings.push(
          look(event.what, `left out: ${event.rejectedCount - shown.length} more lines`),
        )
      const doubtful = event.warned.slice(0, rejectedShown)
      for (const line of doubtful) findings.push(look(event.what, `doubtful: ${line}`))
      if (event.warnedCount > doubtful.length)
        findings.push(
          look(event.what, `doubtful: ${event.warnedCount - doubtful.length} more lines`),
        )
    } else if (event.kind === 'remark') findings.push(look(event.what, event.text))
    else if (event.what === 'ready') good.push(`own service: ${event.file} offers ${event.text}`)
  }
  const services = createServices(serviceOptions(config, folder, edges.clock, take))
  await services.ready
  lookAtReadiness(config, services, edges, good, findings)
  await probeInstrument(config, services, good, findings)
  await services.close()
  if (config.services.own.folder === '')
    for (const keyword of config.services.off)
      if (!reservedKeywords.includes(keyword))
        findings.push(look('services.off', `"${keyword}" is not a service: check its spelling`))
  return { good, findings }
}

/** What has no data by choice is told of; what has some and cannot answer out of it is to be looked at. */
function lookAtReadiness(
  { services: { repeaters, pass, find } }: Config,
  { services }: OpenServices,
  edges: Edges,
  good: string[],
  findings: Finding[],
): void {
  const data: Readonly<Record<string, string>> = {
    ...{ repeaters: repeaters.file, pass: pass.file, find: find.folder },
  }
  for (const service of services) {
    const readiness = readinessOf(service, edges)
    if (readiness.state === 'ready') continue
    const { keyword } = service
    if (data[keyword] === '') good.push(`${keyword}: not offered, ${readiness.reason}`)
    else findings.push(look(keyword, `is not offered: ${readiness.reason}`))
  }
}

/** A serial instrument may take minutes until its next line; the others say something at once. */
async function probeInstrument(
  { services: { conditions } }: Config,
  services: OpenServices,
  good: string[],
  findings: Finding[],
): Promise<void> {
  const { instrument } = conditions
  if (instrument !== 'file' && instrument !== 'command') return
  const reading = await services.weather()
  if (reading === undefined)
    findings.push(
      look(
        'services.conditions',
        'the weather instrument says nothing fresh that is known here: README lists the names',
      ),
    )
  else good.push(`weather instrument: ${weatherWords(reading.figures, 'km', inEnglish)}`)
}

async function probeKiss({ kiss }: Config, edges: Edges): Promise<Probe> {
  const { enabled, address, port, allow } = kiss.tcp
  // open to others without an allow-list: the configuration's own findings say so
  if (!enabled || (!isLoopback(address) && allow.length === 0)) return { good: [], findings: [] }
  try {
    createAllowList(allow)
    const hub = createKissHub({
      host: {
        radios: [],
        send: () => {},
        refuse: () => {},
        malformed: () => {},
        setParameters: () => false,
        gone: () => {},
      },
      receiveOnly: true,
      parametersAllowed: false,
    })
    const server = await startKissTcp({
      hub,
      address,
      port,
      allow,
      clientsMax: 0,
      clientsPerAddressMax: 0,
      bufferOctetsMax: 0,
      clock: edges.clock,
      onEvent: () => {},
    })
    await server.close()
    return { good: [`KISS: port ${port} of ${address} is free`], findings: [] }
  } catch (error) {
    const { cause } = error as { readonly cause?: NodeJS.ErrnoException }
    return cause?.code === 'EADDRINUSE'
      ? {
          good: [],
          findings: [
            look('kiss.tcp.port', `port ${port} is taken: by this node, if it is running`),
          ],
        }
      : { good: [], findings: [mend('kiss.tcp', errorText(error))] }
  }
}
