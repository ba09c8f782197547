/** One word of bash and zsh, whatever is in it. */
export const shellQuoted = (text: string): string => `'${text.replaceAll("'", "'\\''")}'`
