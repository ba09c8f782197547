// passes.mjs FILE WALL_MS: loads element sets with the compiled program and asks `pass next` from five places.
import { monitorEventLoopDelay, performance } from 'node:perf_hooks'
import { passService } from '../../../dist/src/services/pass.js'
import { loadElements } from '../../../dist/src/services/sky/parseElements.js'

const [file, wallText] = process.argv.slice(2)
const wallMs = Number(wallText)
const dayMs = 86_400_000
const cpuS = () => {
  const { user, system } = process.cpuUsage()
  return (user + system) / 1e6
}
async function timed(work) {
  const [startMs, startCpuS] = [performance.now(), cpuS()]
  const value = await work()
  return { value, s: (performance.now() - startMs) / 1000, cpuS: cpuS() - startCpuS }
}

const startMb = process.memoryUsage.rss() / 2 ** 20
const delay = monitorEventLoopDelay({ resolution: 5 })
delay.enable()
const loaded = await timed(() => loadElements(file))
const service = passService({
  elements: () => loaded.value.entries,
  positionAgeMaxMs: dayMs,
  elementAgeMaxMs: 30 * dayMs,
  elevationMinDeg: 10,
})
const places = [
  [45.2, -36.8],
  [0, 20],
  [-54, 170],
  [78, 15],
  [-90, 0],
]
const asked = []
for (const [latitudeDeg, longitudeDeg] of places)
  asked.push(
    await timed(() =>
      service.answer(
        { id: 'bench', from: 'N0CALL-7', text: 'pass next', rest: 'next', words: ['next'] },
        {
          askerPosition: { latitudeDeg, longitudeDeg, ageMs: 0 },
          node: { call: 'N0CALL-10', utcOffsetMinutes: 0, units: 'km', heightM: 900 },
          clock: { wallMs: () => wallMs, monotonicMs: () => 0 },
        },
      ),
    ),
  )
console.log(
  JSON.stringify({
    loadCpuS: loaded.cpuS,
    loadS: loaded.s,
    askCpuS: asked.map((one) => one.cpuS),
    askS: asked.map((one) => one.s),
    longestHoldMs: delay.max / 1e6,
    peakMb: process.resourceUsage().maxRSS / 1024,
    startMb,
    answer: String(asked[0].value),
  }),
)
