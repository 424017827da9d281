"""The line between a tablet and the server, which a test can cut: for pages, service worker and all."""

import contextlib
import socket
import threading


class SignalLine:
    """Forwards a port of its own to the server. While it is cut, connections are dropped as soon as they are made."""

    def __init__(self, host, port):
        self._to = (host, port)
        self._open, self._lock = set(), threading.Lock()
        self._is_cut = False
        self._bytes_until_cut = None
        self._flows, self._answers = threading.Event(), threading.Event()
        self._flows.set()
        self._answers.set()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = self._listener.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def url(self):
        return f"http://localhost:{self.port}"

    def cut(self):
        self._is_cut = True
        with self._lock:
            for one in self._open:
                _shut(one)

    def mend(self, *, bytes_until_cut=None):
        """Let it through again; with a number, only so many bytes of what the tablet sends."""
        self._bytes_until_cut = bytes_until_cut
        self._is_cut = False

    def stall(self):
        """Let nothing through and close nothing: who sends waits for an answer. `close` ends it."""
        self._flows.clear()

    def hold_answers(self):
        """Let the tablet's words through, and none of the server's. `flow` ends it."""
        self._answers.clear()

    def flow(self):
        self._flows.set()
        self._answers.set()

    @property
    def is_cut(self):
        return self._is_cut

    def close(self):
        self.cut()
        self.flow()
        _shut(self._listener)
        self._listener.close()

    def _accept(self):
        while True:
            try:
                tablet, _ = self._listener.accept()
            except OSError:
                return
            if self._is_cut:
                tablet.close()
                continue
            try:
                server = socket.create_connection(self._to)
            except OSError:
                tablet.close()
                continue
            with self._lock:
                self._open |= {tablet, server}
            threading.Thread(target=self._pump, args=(tablet, server, True), daemon=True).start()
            threading.Thread(target=self._pump, args=(server, tablet, False), daemon=True).start()

    def _pump(self, source, sink, counts):
        try:
            while data := source.recv(16_384):
                self._flows.wait()
                if not counts:
                    self._answers.wait()
                if counts and self._bytes_until_cut is not None:
                    self._bytes_until_cut -= len(data)
                    if self._bytes_until_cut < 0:
                        self.cut()
                        break
                sink.sendall(data)
        except OSError:
            pass
        for one in (source, sink):
            _shut(one)
        with self._lock:
            self._open -= {source, sink}


def _shut(one):
    with contextlib.suppress(OSError):  # it is shut already
        one.shutdown(socket.SHUT_RDWR)
