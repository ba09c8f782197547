// node-wav ships no types; the part that we use.
declare module 'node-wav' {
  interface DecodedWav {
    readonly sampleRate: number
    readonly channelData: readonly Float32Array[]
  }
  const nodeWav: {
    decode(buffer: ArrayBuffer): DecodedWav
  }
  export default nodeWav
}
