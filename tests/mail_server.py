"""A mail server that can be made to wait."""

import socket
import socketserver
import threading


class MailServer(socketserver.ThreadingTCPServer):
    """Takes mail, and keeps the sender waiting for "accepted" while `may_accept` is not set."""

    allow_reuse_address = daemon_threads = True

    def __init__(self):
        self.accepted, self.is_waiting, self.may_accept = [], threading.Event(), threading.Event()
        super().__init__(("127.0.0.1", 0), MailTalk)

    @property
    def url(self):
        return f"smtp://127.0.0.1:{self.server_address[1]}"


class MailTalk(socketserver.StreamRequestHandler):
    def say(self, line):
        self.wfile.write(line.encode() + b"\r\n")

    def handle(self):
        self.say("220 ready")
        for line in self.rfile:
            word = line[:4].upper()
            if word == b"DATA":
                self.say("354 go on")
                body = b"".join(iter(self.rfile.readline, b".\r\n"))
                self.server.is_waiting.set()
                self.server.may_accept.wait()
                # Who was killed while waiting was never told "accepted", and so it does not count.
                self.request.settimeout(0.2)
                try:
                    if self.request.recv(1, socket.MSG_PEEK) == b"":
                        return
                except TimeoutError:
                    pass
                except OSError:
                    return
                self.request.settimeout(None)
                self.server.accepted.append(body)
                self.say("250 accepted")
            elif word == b"QUIT":
                self.say("221 bye")
                return
            else:
                self.say("250 ok")
