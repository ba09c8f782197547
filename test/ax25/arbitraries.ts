import fc from 'fast-check'
import type { Address, PathEntry } from '../../src/ax25/address.js'
import { type Control, decodeControl, encodeControl, hasPid } from '../../src/ax25/control.js'
import type { Ax25Frame, CommandBits } from '../../src/ax25/frame.js'

const callCharacters = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789'

/** A call sign that the standard allows. */
export const calls = fc.string({
  unit: fc.constantFrom(...callCharacters),
  minLength: 1,
  maxLength: 6,
})

export const addresses: fc.Arbitrary<Address> = fc.record({ call: calls, ssid: fc.nat(15) })

/** As many have repeated as stand in front. */
export const paths: fc.Arbitrary<PathEntry[]> = fc
  .tuple(fc.array(addresses, { maxLength: 8 }), fc.nat(8))
  .map(([digipeaters, repeatedCount]) =>
    digipeaters.map((address, at) => ({ address, repeated: at < repeatedCount })),
  )

/** UI frames without a layer 3 protocol: what the line notation holds. */
export const uiFrames: fc.Arbitrary<Ax25Frame> = fc
  .record({
    destination: addresses,
    source: addresses,
    path: paths,
    payload: fc.uint8Array({ maxLength: 256 }),
  })
  .map((parts) => {
    const control: Control = { type: 'UI', pollFinal: false }
    return {
      ...parts,
      command: 'command',
      control,
      controlOctets: encodeControl(control),
      pid: 0xf0,
    }
  })

const commandBits = fc.constantFrom<CommandBits[]>('command', 'response', 'neither', 'both')

/** Frames of every kind that the standard allows, modulo 8. */
export const frames: fc.Arbitrary<Ax25Frame> = fc
  .record({
    destination: addresses,
    source: addresses,
    path: paths,
    command: commandBits,
    control: fc.nat(255),
    pid: fc.nat(255),
    pidExtension: fc.nat(255),
    payload: fc.uint8Array({ maxLength: 64 }),
  })
  .map(({ control: octet, pid, pidExtension, payload, ...rest }) => {
    const controlOctets = Uint8Array.of(octet)
    const control = decodeControl(controlOctets)
    const carries = hasPid(control) || (control.type === 'U' && !bare.includes(control.name))
    return {
      ...rest,
      control,
      controlOctets,
      ...(hasPid(control) ? { pid } : {}),
      ...(hasPid(control) && pid === 0xff ? { pidExtension } : {}),
      payload: carries ? payload : new Uint8Array(),
    }
  })

const bare = ['SABM', 'SABME', 'DISC', 'DM', 'UA']
