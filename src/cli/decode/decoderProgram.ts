// Recordings other than WAV are read through a program that decodes audio, if one is installed.
import { spawn } from 'node:child_process'
import { resolve } from 'node:path'
import { childEnd, describeEnd, findProgram, tied } from '../../devices/child.js'
import { Failure } from '../../runtime/failure.js'
import { openStreamRecording, type Recording } from './recording.js'

interface Decoder {
  readonly program: string
  /** @param file absolute, so that it is never taken for an option, an address or a command */
  words(file: string): string[]
}

/** The first that is installed is taken; both write a WAV stream of 16 bits. */
const decoders: readonly Decoder[] = [
  {
    program: 'ffmpeg',
    words: (file) => [
      ...['ffmpeg', '-nostdin', '-v', 'error', '-i', `file:${file}`, '-vn', '-map_metadata', '-1'],
      ...['-c:a', 'pcm_s16le', '-f', 'wav', '-'],
    ],
  },
  {
    program: 'sox',
    words: (file) => ['sox', '-V1', file, '-b', '16', '-e', 'signed-integer', '-t', 'wav', '-'],
  },
]

/** Of what a program says on its standard error. */
const errorCharactersMax = 300

/**
 * @param looksLike what the file seems to be: 'a FLAC file'
 * @throws Failure 'decoder-missing', which names what to install, 'decoder-failed'
 */
export async function openDecoded(
  file: string,
  looksLike: string,
  env: NodeJS.ProcessEnv,
): Promise<Recording> {
  const decoder = decoders.find(({ program }) => findProgram(program, env) !== undefined)
  if (decoder === undefined)
    throw new Failure({
      code: 'decoder-missing',
      subject: file,
      got: looksLike,
      expected: 'a WAV file, or a program that decodes it',
      advice: 'install ffmpeg (FLAC, MP3, Ogg, video) or sox; raw PCM needs --rate',
    })
  const [program = '', ...parameters] = tied(decoder.words(resolve(file)), 'KILL', env)
  const child = spawn(program, parameters, { stdio: ['ignore', 'pipe', 'pipe'], env })
  let said = ''
  child.stderr.on('data', (text: Buffer) => {
    said = (said + text.toString()).slice(0, errorCharactersMax)
  })
  const end = childEnd(child)
  const failure = async (): Promise<Failure> =>
    new Failure({
      code: 'decoder-failed',
      subject: file,
      problem: `${decoder.program} cannot decode it: ${said.trim().split('\n')[0] || describeEnd(await end)}`,
    })
  let recording: Recording
  try {
    recording = await openStreamRecording(child.stdout, file, undefined)
  } catch {
    child.kill('SIGKILL')
    throw await failure()
  }
  return {
    ...recording,
    // A program that cannot go back in its output does not know how long it will be.
    durationS: undefined,
    async *blocks() {
      yield* recording.blocks()
      const { exitCode, signal } = await end
      if (exitCode !== 0 && signal === null) throw await failure()
    },
    close() {
      recording.close()
      child.kill('SIGKILL')
    },
  }
}
