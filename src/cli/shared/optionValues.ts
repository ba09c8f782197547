import { InvalidArgumentError } from 'commander'

/** An option that is a whole number within limits. @param also what else it may be, for the message */
export function wholeNumber(min: number, max: number, also = ''): (text: string) => number {
  return (text) => {
    const value = Number(text)
    if (/^\d+$/.test(text) && value >= min && value <= max) return value
    throw new InvalidArgumentError(`Expected a whole number from ${min} to ${max}${also}.`)
  }
}

/** An option that is a number within limits. */
export function number(min: number, max: number): (text: string) => number {
  return (text) => {
    const value = Number(text)
    if (/^[-+]?(\d+\.?\d*|\.\d+)$/.test(text) && value >= min && value <= max) return value
    throw new InvalidArgumentError(`Expected a number from ${min} to ${max}.`)
  }
}
