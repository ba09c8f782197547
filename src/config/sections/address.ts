import { z } from 'zod'

/** An IPv4 or IPv6 address, or a range of them as ADDRESS/BITS; src/kiss checks it in full. */
export const addressOrRange = z
  .string()
  .regex(
    /^[0-9a-fA-F:.]{2,45}(\/\d{1,3})?$/,
    'expected an IP address or a range such as "192.168.7.0/24"',
  )
