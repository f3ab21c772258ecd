export default function Station() {
  return <h1>Station</h1>;
}
