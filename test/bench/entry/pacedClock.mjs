// Loaded in front of the program, in each of its threads and processes, by `bench soak --pace N`: its clocks and timers run N times
// as fast. All that the program knows of time comes from these (src/runtime/systemClock.ts). The moment from which they do so is
// in its URL, one for all: sinceNs of the monotonic clock, sinceMs of the wall clock.
const { searchParams } = new URL(import.meta.url)
const pace = Number(searchParams.get('pace'))
const sinceNs = BigInt(searchParams.get('sinceNs'))
const sinceMs = Number(searchParams.get('sinceMs'))

const hrtimeNs = process.hrtime.bigint.bind(process.hrtime)
process.hrtime.bigint = () => sinceNs + (hrtimeNs() - sinceNs) * BigInt(pace)
const wallMs = Date.now.bind(Date)
Date.now = () => Math.floor(sinceMs + (wallMs() - sinceMs) * pace)
const start = globalThis.setTimeout
globalThis.setTimeout = (run, ms, ...values) => start(run, ms / pace, ...values)
