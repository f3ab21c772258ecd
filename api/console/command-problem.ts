/** A command of the console cannot do what it was asked; the message is for the person at the terminal. */
export class CommandProblem extends Error {
  override readonly name: string = 'CommandProblem';
}
