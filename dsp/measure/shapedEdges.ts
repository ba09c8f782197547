/**
 * Amplitude of a keyed tone with raised-cosine edges, which keep clicks out of the neighbouring channels.
 * @param position samples since the start of the key-down segment
 * @param length of the segment, in samples
 * @param edge length of each edge, in samples; at most half of the segment counts
 * @returns 0 to 1; the edges lie within the segment
 */
export function shapedAmplitude(position: number, length: number, edge: number): number {
  const fromBorder = Math.min(position, length - position)
  const width = Math.min(edge, length / 2)
  if (fromBorder <= 0) return 0
  return fromBorder >= width ? 1 : 0.5 - 0.5 * Math.cos((Math.PI * fromBorder) / width)
}
