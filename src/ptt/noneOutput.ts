import type { PttOutput } from './pttOutput.js'

/** No line at all: the radio keys itself on the audio (VOX). Unkeying is the end of the audio. */
export function noneOutput(): PttOutput {
  return {
    name: 'none (the radio keys itself on audio)',
    key() {},
    unkey() {},
    async close() {},
  }
}
