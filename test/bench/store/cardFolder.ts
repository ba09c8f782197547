import { execFileSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'

/** A folder whose writes are counted where they reach the storage. */
export interface CardFolder {
  readonly folder: string
  /** Lets the kernel write what it holds, as it does by itself within half a minute. */
  settle(): void
  /** octets that the device was given so far */
  writtenBytes(): number
  /** what is counted, in words */
  readonly counted: string
  remove(): void
}

const sectorBytes = 512

/**
 * ext4 with blocks of 4 kB and a journal, as on an SD card, in a file behind a loop device. Where that may not be made,
 * a plain folder and what the kernel counts for this process, which misses the file system's own writes.
 */
export function cardFolder(): CardFolder {
  const place = mkdtempSync(join(tmpdir(), 'ridgepost-card-'))
  try {
    return loopFolder(place)
  } catch (error) {
    console.log(`no loop device (${(error as Error).message.trim().split('\n')[0]})`)
    return plainFolder(place)
  }
}

function loopFolder(place: string): CardFolder {
  const image = join(place, 'card.img')
  const folder = join(place, 'card')
  execFileSync('truncate', ['-s', '2G', image])
  execFileSync('mkfs.ext4', ['-q', '-F', '-b', '4096', image])
  execFileSync('mkdir', [folder])
  execFileSync('mount', ['-o', 'loop', image, folder])
  const device = execFileSync('findmnt', ['-no', 'SOURCE', folder], { encoding: 'utf8' }).trim()
  const statFile = `/sys/block/${basename(device)}/stat`
  return {
    folder,
    settle: () => execFileSync('sync', ['-f', folder]),
    // the seventh figure: sectors written (the kernel's Documentation/block/stat)
    writtenBytes: () => Number(readFileSync(statFile, 'utf8').trim().split(/\s+/)[6]) * sectorBytes,
    counted: 'sectors written to a loop device with ext4, its journal included',
    remove() {
      execFileSync('umount', ['-l', folder])
      rmSync(place, { recursive: true })
    },
  }
}

function plainFolder(folder: string): CardFolder {
  return {
    folder,
    settle: () => execFileSync('sync', ['-f', folder]),
    writtenBytes: () =>
      Number(/^write_bytes: (\d+)/m.exec(readFileSync('/proc/self/io', 'utf8'))?.[1]),
    counted: "this process's write_bytes, without what the file system adds",
    remove: () => rmSync(folder, { recursive: true }),
  }
}
