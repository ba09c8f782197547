/**
 * Amplitude of a keyed tone with raised-cosine edges, which keep clicks out of the neighbouring channels.
 * @param position samples since the start of the key-down stretch
 * @param length of the stretch, in samples
 * @param edge length of each edge, in samples; at most half of the stretch counts
 * @returns 0 to 1; the edges lie within the stretch
 */
export function shapedAmplitude(position: number, length: number, edge: number): number {
  const fromBorder = Math.min(position, length - position)
  const width = Math.min(edge, length / 2)
  if (fromBorder <= 0) return 0
  return fromBorder >= width ? 1 : 0.5 - 0.5 * Math.cos((Math.PI * fromBorder) / width)
}
