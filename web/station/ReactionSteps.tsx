/** What the reaction plan says, with its cautions; nothing where it has nothing to say. */
export function ReactionSteps({
  steps,
  cautions,
}: {
  steps: readonly string[];
  cautions: readonly string[];
}) {
  return (
    <>
      {steps.length > 0 && (
        <>
          <h2>What to do</h2>
          <ol class="station-steps">
            {steps.map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
        </>
      )}
      {cautions.length > 0 && (
        <ul class="station-cautions">
          {cautions.map((caution) => (
            <li key={caution}>
              <strong>Caution:</strong> {caution}
            </li>
          ))}
        </ul>
      )}
    </>
  );
}
