/** The bytes of a file, wherever they are kept. */
export interface FileBytes {
  readonly bytes: number;
  /** Piece by piece, of the whole file or of a part; `to` is the first byte that does not belong to it. */
  read(from?: number, to?: number): AsyncGenerator<Buffer>;
}
