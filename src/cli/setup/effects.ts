import { accessSync, constants, copyFileSync, existsSync } from 'node:fs'
import { dirname } from 'node:path'
import { parseConfig } from '../../config/load.js'
import type { Edges } from '../../devices/edges.js'
import { replaceFile } from '../../devices/replaceFile.js'
import { errorText } from '../../runtime/errorText.js'
import type { openRadio } from '../../setup/openRadio.js'
import { checkedLines } from '../check/check.js'
import { findDevices } from './foundDevices.js'
import { listen } from './listen.js'
import type { Effect, EffectResult } from './session.js'
import { createTrials } from './trials.js'

/** All that `setup` does outside of its questions. */
export interface Effects {
  /** Never throws: what went wrong is a line of the result. */
  run(effect: Effect): Promise<EffectResult>
  /** Ends what is under way: unkeys, identifies what was sent, lets go of the devices. */
  endKeying(): Promise<readonly string[]>
  /** Unkeys at once, and begins nothing more. */
  stop(): void
}

/**
 * @param file the configuration that will be written: names in it are relative to its folder, and what is sent while it is
 *   tried counts on the limits of the station that it becomes
 */
export function createEffects(
  file: string,
  edges: Edges,
  say: (line: string) => void,
  open: typeof openRadio,
): Effects {
  const folder = dirname(file)
  const trials = createTrials(folder, edges, say, open)
  const stopping = new AbortController()
  const act = async (effect: Effect): Promise<EffectResult> => {
    if (effect.kind === 'key') return trials.key(effect)
    await trials.end()
    switch (effect.kind) {
      case 'find':
        return { ok: true, lines: [], found: await findDevices(edges.env) }
      case 'hear': {
        const config = parseConfig(effect.configText, file)
        return listen(config, folder, effect.seconds * 1000, stopping.signal, edges, say, open)
      }
      case 'look':
        accessSync(effect.path, constants.R_OK)
        return { ok: true, lines: [] }
      case 'write':
        return written(effect)
      case 'check': {
        const { lines, isGood } = await checkedLines(effect.file, edges)
        return { ok: isGood, lines }
      }
    }
  }
  return {
    async run(effect) {
      if (stopping.signal.aborted) return { ok: false, lines: [] }
      try {
        return await act(effect)
      } catch (error) {
        return { ok: false, lines: [errorText(error)] }
      }
    },
    endKeying: () => trials.end(),
    stop() {
      stopping.abort()
      trials.stop()
    },
  }
}

/** The old file is aside before the new one takes its place, so that at no moment there is none. */
function written({ file, text, asideFile }: Extract<Effect, { kind: 'write' }>): EffectResult {
  if (asideFile === undefined && existsSync(file))
    return {
      ok: false,
      isThere: true,
      lines: [`${file} was made by somebody else in the meantime.`],
    }
  if (asideFile !== undefined) copyFileSync(file, asideFile, constants.COPYFILE_EXCL)
  replaceFile(file, text)
  return {
    ok: true,
    lines: [
      `Written: ${file}`,
      ...(asideFile === undefined ? [] : [`The old one is ${asideFile}`]),
      '',
    ],
  }
}
