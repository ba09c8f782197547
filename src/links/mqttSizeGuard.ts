/**
 * Follows the packets of an MQTT stream by their fixed headers (MQTT 5, 2.1: an octet, and the remaining length in one to four octets of
 * seven bits), and says when one is longer than it may be: once its length is known, before its content has come.
 */
export interface MqttSizeGuard {
  /** @returns false from the first octets on that are of no packet, or of one that is too long */
  push(octets: Uint8Array): boolean
}

/** @param octetsMax of a packet, its fixed header not counted */
export function mqttSizeGuard(octetsMax: number): MqttSizeGuard {
  /** of the content of the packet that comes now */
  let left = 0
  let isSound = true
  let lengthOctets = -1
  let length = 0

  const takeHeader = (octet: number): void => {
    if (lengthOctets < 0) {
      lengthOctets = 0
      length = 0
      return
    }
    length += (octet & 0x7f) * 128 ** lengthOctets
    lengthOctets++
    if ((octet & 0x80) !== 0) {
      if (lengthOctets === 4) isSound = false
      return
    }
    lengthOctets = -1
    left = length
    if (length > octetsMax) isSound = false
  }

  return {
    push(octets) {
      for (let at = 0; at < octets.length && isSound; )
        if (left > 0) {
          const step = Math.min(left, octets.length - at)
          left -= step
          at += step
        } else takeHeader(octets[at++]!)
      return isSound
    },
  }
}
