// Reed-Solomon codes over GF(256) with the field polynomial x^8 + x^4 + x^3 + x^2 + 1 (0x11D), as FX.25 and IL2P use them:
// errors and erasures. Source of the field and the first roots: test/published/fec.json. Algorithms: syndromes, Berlekamp and
// Massey begun with the erasure locator, Chien's search, Forney's formula (Blahut, Algebraic Codes for Data Transmission;
// from memory).

export interface ReedSolomonCode {
  readonly checkOctetCount: number
  /** Check octets of a word's data; 255 octets together at most. */
  check(data: Uint8Array): Uint8Array
  /**
   * Corrects a word, data first, check octets last. Twice the errors and once the erasures must not exceed the check octets.
   * @param erasures places of octets that may be wrong, counted from 0
   * @returns the corrected word, a copy; undefined when no code word is near enough
   */
  correct(word: Uint8Array, erasures?: readonly number[]): Uint8Array | undefined
}

/**
 * @param checkOctetCount 1 to 254
 * @param firstRoot exponent of the generator polynomial's first root: 1 for FX.25, 0 for IL2P
 */
export function createReedSolomon(checkOctetCount: number, firstRoot: 0 | 1): ReedSolomonCode {
  const generator = generatorPolynomial(checkOctetCount, firstRoot)
  return {
    checkOctetCount,
    check(data) {
      if (data.length + checkOctetCount > wordOctetsMax)
        throw new RangeError(`Reed-Solomon: got ${data.length} octets of data, too many`)
      return remainder(data, generator)
    },
    correct(word, erasures = []) {
      if (word.length > wordOctetsMax || word.length <= checkOctetCount) return undefined
      if (erasures.length > checkOctetCount) return undefined
      const syndromes = syndromesOf(word, checkOctetCount, firstRoot)
      if (syndromes.every((value) => value === 0)) return word.slice()
      const locator = errorLocator(syndromes, word.length, erasures)
      if (locator === undefined) return undefined
      const corrected = correctAt(word, locator, syndromes, firstRoot)
      if (corrected === undefined) return undefined
      return syndromesOf(corrected, checkOctetCount, firstRoot).every((value) => value === 0)
        ? corrected
        : undefined
    },
  }
}

const wordOctetsMax = 255

const { exponentials, logarithms } = fieldTables()

function fieldTables(): { exponentials: Uint8Array; logarithms: Uint8Array } {
  const powers = new Uint8Array(2 * 255)
  const logs = new Uint8Array(256)
  let value = 1
  for (let exponent = 0; exponent < 255; exponent++) {
    powers[exponent] = value
    powers[exponent + 255] = value
    logs[value] = exponent
    value <<= 1
    if (value > 255) value ^= 0x11d
  }
  return { exponentials: powers, logarithms: logs }
}

const multiply = (a: number, b: number): number =>
  a === 0 || b === 0 ? 0 : exponentials[logarithms[a]! + logarithms[b]!]!

const divide = (a: number, b: number): number =>
  a === 0 ? 0 : exponentials[logarithms[a]! + 255 - logarithms[b]!]!

/** alpha to any power, negative too. */
const power = (exponent: number): number => exponentials[((exponent % 255) + 255) % 255]!

/** Coefficients from the highest power down, the leading 1 left out. */
function generatorPolynomial(degree: number, firstRoot: number): Uint8Array {
  let polynomial = Uint8Array.of(1)
  for (let index = 0; index < degree; index++) {
    const root = power(firstRoot + index)
    const next = new Uint8Array(polynomial.length + 1)
    for (let at = 0; at < polynomial.length; at++) {
      next[at]! ^= polynomial[at]!
      next[at + 1]! ^= multiply(polynomial[at]!, root)
    }
    polynomial = next
  }
  return polynomial.subarray(1)
}

function remainder(data: Uint8Array, generator: Uint8Array): Uint8Array {
  const register = new Uint8Array(generator.length)
  for (const octet of data) {
    const feedback = octet ^ register[0]!
    register.copyWithin(0, 1)
    register[register.length - 1] = 0
    if (feedback !== 0)
      for (let at = 0; at < register.length; at++)
        register[at]! ^= multiply(generator[at]!, feedback)
  }
  return register
}

function syndromesOf(word: Uint8Array, count: number, firstRoot: number): Uint8Array {
  const syndromes = new Uint8Array(count)
  for (let index = 0; index < count; index++) {
    const exponent = firstRoot + index
    let sum = 0
    for (let at = 0; at < word.length; at++)
      sum = (sum === 0 ? 0 : exponentials[logarithms[sum]! + exponent]!) ^ word[at]!
    syndromes[index] = sum
  }
  return syndromes
}

/** Roots of the locator are the inverses of alpha^(distance of a wrong octet from the word's end). Lowest power first. */
function errorLocator(
  syndromes: Uint8Array,
  wordLength: number,
  erasures: readonly number[],
): Uint8Array | undefined {
  const size = syndromes.length + 1
  let locator = new Uint8Array(size)
  locator[0] = 1
  erasures.forEach((place, index) => {
    const root = power(wordLength - 1 - place)
    for (let at = index + 1; at > 0; at--) locator[at]! ^= multiply(locator[at - 1]!, root)
  })
  let previous = locator.slice()
  let length = erasures.length
  for (let round = erasures.length; round < syndromes.length; round++) {
    let discrepancy = 0
    for (let at = 0; at <= round; at++)
      discrepancy ^= multiply(locator[at]!, syndromes[round - at]!)
    // One power higher each round.
    previous.copyWithin(1, 0)
    previous[0] = 0
    if (discrepancy === 0) continue
    const next = locator.slice()
    for (let at = 0; at < size; at++) next[at]! ^= multiply(discrepancy, previous[at]!)
    if (2 * length <= round + erasures.length) {
      length = round + 1 + erasures.length - length
      previous = locator.map((value) => divide(value, discrepancy))
    }
    locator = next
  }
  let degree = size - 1
  while (degree > 0 && locator[degree] === 0) degree--
  return degree === length ? locator.subarray(0, degree + 1) : undefined
}

function correctAt(
  word: Uint8Array,
  locator: Uint8Array,
  syndromes: Uint8Array,
  firstRoot: number,
): Uint8Array | undefined {
  const degree = locator.length - 1
  const corrected = word.slice()
  // Of the evaluator S(x) L(x) only the powers below the locator's degree matter for a code word.
  const evaluator = new Uint8Array(degree)
  for (let at = 0; at < degree; at++)
    for (let from = 0; from <= at; from++)
      evaluator[at]! ^= multiply(locator[from]!, syndromes[at - from]!)
  let found = 0
  for (let place = 0; place < word.length; place++) {
    const distance = word.length - 1 - place
    if (evaluate(locator, 1, 0, -distance) !== 0) continue
    found++
    const slope = evaluate(locator, 2, 1, -distance)
    if (slope === 0) return undefined
    const value = evaluate(evaluator, 1, 0, -distance)
    corrected[place]! ^= multiply(power(distance * (1 - firstRoot)), divide(value, slope))
  }
  return found === degree ? corrected : undefined
}

/** A polynomial at alpha^exponent; from its power `first`, each `step`-th one, divided by x^first (what a derivative is here). */
function evaluate(polynomial: Uint8Array, step: number, first: number, exponent: number): number {
  let sum = 0
  for (let at = first; at < polynomial.length; at += step)
    sum ^= multiply(polynomial[at]!, power(exponent * (at - first)))
  return sum
}
