// A worker's timer keeps time in a hidden page, where the page's own are held back. It is told in how many
// milliseconds to answer; a negative number means not at all.
let timer;
onmessage = ({ data }) => {
  clearTimeout(timer);
  if (data >= 0) timer = setTimeout(() => postMessage(null), data);
};
