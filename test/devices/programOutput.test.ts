import { describe, expect, it } from 'vitest'
import { programOutput } from '../../src/devices/programOutput.js'

const limits = { timeLimitMs: 60_000, octetsMax: 1000 }
const shell = (command: string, change = {}): Promise<string> =>
  programOutput(['sh', '-c', command], { ...limits, ...change })

describe("a program's output", () => {
  it('is what it writes, where it runs', async () => {
    expect(await shell('echo 12.5; pwd', { folder: '/' })).toBe('12.5\n/\n')
    expect(await programOutput(['echo', 'a b', '$HOME'], limits)).toBe('a b $HOME\n')
  })

  it.each([
    ['exit 3', {}, 'ended with status 3'],
    ['yes', {}, 'wrote more than 1000 octets'],
    ["trap '' TERM; while :; do :; done", { timeLimitMs: 300 }, 'took longer than 0.3 s'],
  ])('%s is told in words', async (command, change, words) => {
    await expect(shell(command, change)).rejects.toThrow(words)
  })

  it('a program that is not there is told', async () => {
    await expect(programOutput(['no-such-program-here'], limits)).rejects.toThrow('no such program')
  })
})
