// Loaded in front of the program, in each of its threads, by `bench soak`: writes down what a thread holds after a forced
// collection, and how late its event loop was. Its options are in its URL: file, everyS.
import { appendFileSync, readFileSync } from 'node:fs'
import { monitorEventLoopDelay } from 'node:perf_hooks'
import { getHeapStatistics, setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { isMainThread } from 'node:worker_threads'

const { searchParams } = new URL(import.meta.url)
setFlagsFromString('--expose-gc')
const collect = runInNewContext('gc')
const everyMs = Number(searchParams.get('everyS')) * 1000
const delay = monitorEventLoopDelay({ resolution: 10 })
delay.enable()
const startMs = performance.now()

const look = () => {
  const ms = (ns) => Math.round(ns / 1e4) / 100
  const late = { p50: ms(delay.percentile(50)), p99: ms(delay.percentile(99)), max: ms(delay.max) }
  collect()
  collect()
  delay.reset()
  const anonymousKb = Number(
    /^RssAnon:\s*(\d+)/m.exec(readFileSync('/proc/self/status', 'utf8'))?.[1],
  )
  const { used_heap_size: heap, external_memory: external } = getHeapStatistics()
  const resources = {}
  for (const name of process.getActiveResourcesInfo()) resources[name] = (resources[name] ?? 0) + 1
  const line = {
    thread: isMainThread ? 'main' : 'radio',
    atS: Math.round((performance.now() - startMs) / 1000),
    ...{ heap, external, anonymous: anonymousKb * 1024, late, resources },
  }
  appendFileSync(searchParams.get('file'), `${JSON.stringify(line)}\n`)
}
// Half a second after the main thread, so that what the process holds then is without the garbage of either.
setTimeout(
  () => {
    look()
    setInterval(look, everyMs).unref()
  },
  everyMs - (Date.now() % everyMs) + (isMainThread ? 0 : 500),
).unref()
