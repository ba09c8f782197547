/** Where 1200 baud APRS-format frames are found (common practice, no source). */
export const usualFrequencies: readonly {
  readonly frequencyMHz: number
  readonly where: string
}[] = [
  { frequencyMHz: 144.39, where: 'North America' },
  { frequencyMHz: 144.8, where: 'Europe and most of ITU Region 1' },
  { frequencyMHz: 145.175, where: 'Australia' },
  { frequencyMHz: 144.575, where: 'New Zealand' },
  { frequencyMHz: 145.57, where: 'Brazil' },
  { frequencyMHz: 145.825, where: 'satellites and space stations' },
]
