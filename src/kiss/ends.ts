import type { Clock } from '../runtime/clock.js'
import { createKissHub, type HubOptions, type KissHub, type LineMode } from './hub.js'
import { type LineEnd, startKissLine } from './lineEnds.js'
import { pseudoTerminalStream, serialStream } from './streams.js'
import { type KissTcpServer, startKissTcp, type TcpServerOptions } from './tcpServer.js'

export interface KissEndsOptions extends HubOptions {
  readonly clock: Clock
  /** absent: no TCP */
  readonly tcp?: Omit<TcpServerOptions, 'hub' | 'clock' | 'onEvent'> | undefined
  readonly serial: readonly (LineMode & { readonly device: string; readonly bitRate: number })[]
  /** paths of the links to the pseudo-terminals */
  readonly pseudoTerminals: readonly string[]
  readonly onEvent: (text: string) => void
}

/** Every end at which KISS is offered. */
export interface KissEnds {
  readonly hub: KissHub
  readonly tcp: KissTcpServer | undefined
  readonly lines: readonly LineEnd[]
  close(): Promise<void>
}

/**
 * Opens all ends.
 * @throws Failure of startKissTcp; a serial line or terminal that cannot be had is told by onEvent and tried again
 */
export async function openKissEnds(options: KissEndsOptions): Promise<KissEnds> {
  const { clock, onEvent } = options
  const hub = createKissHub(options)
  const tcp = options.tcp && (await startKissTcp({ ...options.tcp, hub, clock, onEvent }))
  const lines: LineEnd[] = []
  const close = async (): Promise<void> => {
    for (const line of lines) line.close()
    await tcp?.close()
  }
  try {
    openLines(options, hub, lines)
  } catch (error) {
    await close()
    throw error
  }
  return { hub, tcp, lines, close }
}

/** @param lines takes those that are open, whatever becomes of the others */
function openLines(options: KissEndsOptions, hub: KissHub, lines: LineEnd[]): void {
  const { clock, onEvent } = options
  for (const { device, bitRate, checksum, polled } of options.serial)
    lines.push(
      startKissLine({
        hub,
        clock,
        onEvent,
        name: `serial ${device}`,
        open: serialStream({ device, bitRate }),
        line: checksum || polled ? { checksum, polled } : undefined,
        delayMs: 1000,
        delayMsMax: 60_000,
      }),
    )
  for (const path of options.pseudoTerminals)
    lines.push(
      startKissLine({
        hub,
        clock,
        onEvent,
        name: `terminal ${path}`,
        open: pseudoTerminalStream({ path }),
        // a program that closed it may want it again at once, as often as it likes
        soundMs: 0,
        delayMs: 20,
        delayMsMax: 30_000,
      }),
    )
}
