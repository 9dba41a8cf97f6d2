# SPDX-License-Identifier: MIT
# Stands between asleft and a drive on Modbus TCP: sees each request before the drive does, and decides what becomes of it.
import socket
import threading

import program

WRITES = (5, 6, 15, 16)
CUT = None


class Tap:
    """Passes requests and replies on. `on_request(pdu)` is called before a request goes to the drive; False drops it and
    its reply, and CUT ends the line for good. `writes` has the PDU of each write that went to the drive. Use it in a with statement."""

    def __init__(self, port, on_request=lambda pdu: True):
        self.drive_port, self.on_request = int(port), on_request
        self.writes = []

    def __enter__(self):
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port = str(self.listener.getsockname()[1])
        threading.Thread(target=self._accept, daemon=True).start()
        return self

    def __exit__(self, *_):
        self.listener.close()

    def _accept(self):
        while True:
            try:
                client, _ = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self._serve, args=(client,), daemon=True).start()

    def _serve(self, client):
        with client, socket.create_connection(("127.0.0.1", self.drive_port), timeout=program.PATIENCE_S) as drive:
            try:
                while self._pass_one(client, drive):
                    pass
            except OSError:
                pass  # one of both has gone

    def _pass_one(self, client, drive):
        request = _frame(client)
        if request is None:
            return False
        pdu = request[7:]
        passes = self.on_request(pdu)
        if passes is CUT:
            self.listener.shutdown(socket.SHUT_RDWR)  # also for the thread that waits in accept
            self.listener.close()
            return False
        if not passes:
            return True
        if pdu[0] in WRITES:
            self.writes.append(pdu)
        drive.sendall(request)
        reply = _frame(drive)
        if reply is None:
            return False
        client.sendall(reply)
        return True


def is_write(pdu):
    return pdu[0] in WRITES


def wait_until_saved(port, unit, address):
    """Asks the drive for its save command's register until that reads done, 0."""
    with socket.create_connection(("127.0.0.1", int(port)), timeout=program.PATIENCE_S) as drive:
        reply = b""
        while reply[-2:] != b"\0\0":
            drive.sendall(bytes([0, 1, 0, 0, 0, 6, unit, 3]) + address.to_bytes(2, "big") + b"\0\1")
            reply = _frame(drive)


def _frame(stream):
    """A whole frame: transaction, protocol, length, then unit and PDU (MODBUS Messaging on TCP/IP V1.0b, 3.1.3)."""
    header = _exactly(stream, 6)
    if header is None:
        return None
    rest = _exactly(stream, int.from_bytes(header[4:6], "big"))
    return None if rest is None else header + rest


def _exactly(stream, count):
    data = b""
    while len(data) < count:
        more = stream.recv(count - len(data))
        if not more:
            return None
        data += more
    return data
