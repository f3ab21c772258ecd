export default function SetupPage() {
  return <h1>SetupPage</h1>;
}
