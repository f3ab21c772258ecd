/** The file cannot be read any further; says where and what the person can do about it. */
export class UnreadableFile extends Error {
  override readonly name = 'UnreadableFile';
  /** 1-based line in the file; null where it is about the file as a whole. */
  readonly line: number | null;

  constructor(message: string, line: number | null = null) {
    super(message);
    this.line = line;
  }
}
