// Round numbers on an axis, and numbers as people write them (the same rules as axis.rs).
function ticks(low, high, wanted) {
  const span = high - low;
  if (!(span > 0 && isFinite(span))) return { values: [], decimals: 0 };
  const rough = span / Math.max(1, wanted);
  let power = Math.floor(Math.log10(rough));
  let lead = rough / Math.pow(10, power);
  lead = lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10;
  if (lead === 10) { lead = 1; power += 1; }
  const step = power < 0 ? lead / Math.pow(10, -power) : lead * Math.pow(10, power);
  const values = [];
  for (let index = Math.ceil(low / step - 1e-9); index <= Math.floor(high / step + 1e-9); index++) {
    values.push(index * step);
  }
  return { values, decimals: Math.max(0, -power) };
}

function fit(low, high) {
  if (!(low <= high)) return [0, 1];
  const span = high - low;
  if (span <= 1e-9 * Math.max(Math.abs(low), Math.abs(high), 1e-6)) {
    const air = high === 0 ? 1 : Math.abs(high) * 0.1;
    return [low - air, high + air];
  }
  if (low > 0 && low < span * 0.35) low = 0;
  if (high < 0 && -high < span * 0.35) high = 0;
  return [low - span * 0.06, high + span * 0.06];
}

function number(value, decimals) {
  const text = value.toFixed(decimals);
  if (text[0] !== "-") return text;
  return /[1-9]/.test(text) ? "\u2212" + text.slice(1) : text.slice(1);
}

// Decimals that a column deserves: what its steps resolve, four digits of its size at most.
function decimalsOf(packed, low, high) {
  const step = packed.multiply / packed.divide;
  const size = Math.max(Math.abs(low), Math.abs(high));
  const resolved = step < 1 ? Math.ceil(-Math.log10(step) - 1e-9) : 0;
  const useful = size > 0 && isFinite(size) ? 3 - Math.floor(Math.log10(size)) : 0;
  return Math.max(0, Math.min(6, resolved, useful));
}

function withUnit(text, unit) {
  return unit ? text + "\u202f" + unit : text;
}
