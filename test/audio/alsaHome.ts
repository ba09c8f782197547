import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

/** ALSA's own file and null plugins in place of a card; the real arecord and aplay run against them. */
export const hasAlsaTools =
  spawnSync('arecord', ['--version']).status === 0 && spawnSync('aplay', ['--version']).status === 0

export interface AlsaHome {
  readonly directory: string
  /** for spawnTied: HOME holds the .asoundrc */
  readonly env: NodeJS.ProcessEnv
  /** what was played on device 'testout', one play behind the other; raw s16le */
  readonly playedFile: string
  /** what device 'testin' records: a file, or a FIFO whose writer sets the pace */
  readonly recordedFile: string
  remove(): void
}

/** @see the file plugin in ALSA's library documentation, "PCM (digital audio) plugins" */
export function alsaHome(): AlsaHome {
  const directory = mkdtempSync(join(tmpdir(), 'ridgepost-alsa-'))
  const playedFile = join(directory, 'played.raw')
  const recordedFile = join(directory, 'recorded.raw')
  writeFileSync(
    join(directory, '.asoundrc'),
    `pcm.testout { type file slave.pcm null file "| cat >> ${playedFile}" format raw }
pcm.testin { type file slave.pcm null file /dev/null infile ${recordedFile} format raw }
`,
  )
  return {
    directory,
    env: { PATH: process.env.PATH, HOME: directory },
    playedFile,
    recordedFile,
    remove: () => rmSync(directory, { recursive: true, force: true }),
  }
}
