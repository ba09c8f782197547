import { type ChildProcess, spawn } from 'node:child_process'

/** Viewers of the page in a process of their own, so that their cost is not the node's. */
export interface Viewers {
  octets(): number
  /** of the events that were told, so many came to all of them together */
  events(): number
  /** how often one of them had to begin anew */
  resets(): number
  stop(): void
}

export function openViewers(port: number, count: number): Viewers {
  const script = `
    let octets = 0, events = 0, resets = 0
    for (let n = 0; n < ${count}; n++)
      require('node:http').get({ port: ${port}, host: '127.0.0.1', path: '/api/v1/stream?spectrum=1' }, (response) => {
        response.setEncoding('utf8').on('data', (text) => {
          octets += text.length
          events += text.split('"type":"event"').length - 1
          resets += text.split('event: reset').length - 1
        })
      })
    setInterval(() => process.stdout.write(octets + ' ' + events + ' ' + resets + '\\n'), 500)`
  const child: ChildProcess = spawn(process.execPath, ['-e', script])
  let last = [0, 0, 0]
  child.stdout!.on('data', (text: Buffer) => {
    last = text.toString().trim().split('\n').at(-1)!.split(' ').map(Number)
  })
  return {
    octets: () => last[0]!,
    events: () => last[1]!,
    resets: () => last[2]!,
    stop: () => void child.kill(),
  }
}
