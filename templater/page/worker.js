// In the worker: parts come once, then questions, one at a time.
let answer;
self.onmessage = async ({ data }) => {
  try {
    if (data.packed) {
      answer = await startPython(data.packed, (what) => self.postMessage({ what }));
      self.postMessage({ ready: true });
    } else {
      self.postMessage({ number: data.number, answer: answer(data.name, data.question, data.files) });
    }
  } catch (fault) {
    self.postMessage({ number: data.number, fault: String(fault.message ?? fault) });
  }
};
