// Runs before anything that an old Node.js could not even read, so it uses only old syntax.
var need = [20, 19];
var have = process.versions.node.split('.').map(Number);
if (have[0] < need[0] || (have[0] === need[0] && have[1] < need[1])) {
  console.error(
    'Runtrue needs Node.js ' + need.join('.') + ' or newer; this is ' + process.versions.node + '.',
  );
  process.exit(1);
}
