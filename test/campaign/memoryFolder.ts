import { existsSync } from 'node:fs'
import { tmpdir } from 'node:os'

/** What a power cut leaves is worked out, and not tried: nothing here has to come to a real disk. */
export const memoryFolder = (): string => (existsSync('/dev/shm') ? '/dev/shm' : tmpdir())
