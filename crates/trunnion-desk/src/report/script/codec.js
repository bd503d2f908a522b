// Reads packed columns back. The table of digits is in codec.rs.
const DIGIT = new Int16Array(128).fill(-1);
for (let code = 33, digit = 0; code < 127; code++) {
  if (code !== 34 && code !== 38 && code !== 60 && code !== 92) DIGIT[code] = digit++;
}

function unpack(packed) {
  const { count, multiply, divide, order, code } = packed;
  const values = new Float64Array(count);
  let at = 0, row = 0, last = 0, before = 0, seen = 0;
  const take = (places) => {
    let number = 0;
    while (places-- > 0) number = number * 90 + DIGIT[code.charCodeAt(at++)];
    return number;
  };
  while (row < count && at < code.length) {
    const first = take(1);
    let rows = 1, folded = first;
    if (first === 88) {
      rows = take(2) + 1;
      while (rows-- > 0 && row < count) values[row++] = NaN;
      continue;
    }
    if (first === 89) {
      rows = take(2) + 1;
      folded = 0;
    } else if (first === 87) folded = take(6);
    else if (first >= 80) folded = 2216 + 8100 * (first - 80) + take(2);
    else if (first >= 56) folded = 56 + 90 * (first - 56) + take(1);
    const miss = folded % 2 ? -(folded + 1) / 2 : folded / 2;
    while (rows-- > 0 && row < count) {
      const guess = order === 0 || seen === 0 ? 0 : order === 2 && seen > 1 ? 2 * last - before : last;
      before = last;
      last = guess + miss;
      seen++;
      values[row++] = last * multiply / divide;
    }
  }
  return values;
}
