/** On paper only: lines for those who have not signed yet. */
export const SignatureLines = ({ of }: { of: readonly ('Gives' | 'Takes over')[] }) => (
  <div class="signature-lines print-only">
    {of.map((who) => (
      <p key={who}>{who}, name and time:</p>
    ))}
  </div>
);
