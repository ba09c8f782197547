import { z } from 'zod'

export const callWithSsid = z
  .string()
  .regex(/^[A-Z0-9]{1,6}(-([1-9]|1[0-5]))?$/, 'expected a call sign or name with SSID, upper case')
