import type { Bench } from './bench.js'
import { campaign } from './hills.js'

/** Three nodes at a broker, put to what nodes in a row are put to. */
export const bench: Bench = {
  name: 'broker-days',
  about:
    'three nodes at a broker: 200 letters a day, connections and power cut, copies put back, clocks off',
  run({ seed, quick, days = quick ? 50 : 1000 }) {
    campaign('broker', seed, days)
    return Promise.resolve()
  },
}
