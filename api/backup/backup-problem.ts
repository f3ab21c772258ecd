import { CommandProblem } from '../console/command-problem.ts';

/** A backup cannot be taken or used; the message is one sentence for the person at the terminal. */
export class BackupProblem extends CommandProblem {
  override readonly name = 'BackupProblem';
}
