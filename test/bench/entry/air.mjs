// air.mjs FILE RATE_HZ: what a card would give and take, in a process of its own: FILE (raw 16-bit PCM) over and over again to
// whoever connects to the first port, 20 ms at a time; what comes to the second is thrown away. Prints both ports.
import { readFileSync } from 'node:fs'
import { createServer } from 'node:net'

const [file, rateText] = process.argv.slice(2)
const octets = readFileSync(file)
const periodMs = 20
const periodOctets = (2 * Number(rateText) * periodMs) / 1000

const input = createServer((socket) => {
  const startMs = performance.now()
  let sent = 0
  const timer = setInterval(() => {
    for (; sent * periodMs <= performance.now() - startMs; sent++) {
      const at = (sent * periodOctets) % octets.length
      socket.write(octets.subarray(at, at + periodOctets))
    }
  }, periodMs)
  socket.setNoDelay(true).on('error', () => {})
  socket.once('close', () => clearInterval(timer))
})
const output = createServer((socket) => {
  socket.on('error', () => {}).resume()
})
const listening = (server) =>
  new Promise((resolve) => server.listen(0, '127.0.0.1', () => resolve(server.address().port)))
console.log(JSON.stringify([await listening(input), await listening(output)]))
