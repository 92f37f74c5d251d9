// Checks GLB files with the validator of the format's makers: node gltf.mjs FOLDER-OF-NODE-MODULES FILE...
// Anything it has to say, also a warning or a hint, is a failure.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';

const [modules, ...files] = process.argv.slice(2);
const validator = createRequire(resolve(modules) + '/')('gltf-validator');
let bad = files.length === 0;
for (const file of files) {
  const report = await validator.validateBytes(new Uint8Array(readFileSync(file)));
  const said = report.issues.numErrors + report.issues.numWarnings + report.issues.numInfos + report.issues.numHints;
  console.log(`${file}: ${said} issues, ${report.info.totalTriangleCount} triangles, ${report.info.animationCount} animation`);
  if (said > 0 || report.info.animationCount !== 1) {
    console.log(JSON.stringify(report.issues.messages.slice(0, 20), null, 1));
    bad = true;
  }
}
process.exit(bad ? 1 : 0);
