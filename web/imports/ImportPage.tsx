export default function ImportPage() {
  return <h1>ImportPage</h1>;
}
