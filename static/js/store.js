// What a bench remembers on this device; a browser that remembers nothing is no hindrance.

export const remembered = (name, otherwise) => {
  try {
    return localStorage.getItem(`bench.${name}`) ?? otherwise;
  } catch {
    return otherwise;
  }
};

export const remember = (name, value) => {
  try {
    localStorage.setItem(`bench.${name}`, value);
  } catch {
    // as before at the next page
  }
};
