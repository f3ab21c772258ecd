/** A backup cannot be taken or used; the message is one sentence for the person at the terminal. */
export class BackupProblem extends Error {
  override readonly name = 'BackupProblem';
}
