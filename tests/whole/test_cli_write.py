#!/usr/bin/python3
# SPDX-License-Identifier: MIT
# write and restore: what is shown, what confirms and what does not, refusals, and what an interruption leaves behind.
import os
import pty
import re
import select
import shlex
import signal
import subprocess
import termios
import unittest

import golden
import program
from program import Case, Simulator, asleft, fixture, text_of
from tap import CUT, Tap, is_write, wait_until_saved

MAP, SHEET = fixture("writable.yaml"), fixture("W-1.yaml")
WRONG = ("motor_current=6.0 A", "motor_speed=1800", "energy_saver=0")  # three changes, in the map's order
CODE = re.compile(r"--confirm ([0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4})\Z")


class WriteCase(Case):
    def setUp(self):
        super().setUp()
        self.store = os.path.join(self.folder, "records.sqlite")
        self.log = os.path.join(self.folder, "writes.csv")

    def drive(self, *settings, sheet=SHEET, faults=()):
        """The simulator holding the sheet's values but for these, with a log of what is written to it."""
        options = [word for setting in settings for word in ("--set", setting)]
        options += [word for fault in faults for word in ("--fault", fault)]
        return Simulator(MAP, *options, "--writes", self.log, sheet=sheet)

    def run_on(self, port, command, *arguments, **how):
        return asleft(command, *arguments, "--port", port, "--store", self.store, **how)

    def preview(self, port, *arguments, sheet=SHEET):
        return self.run_on(port, "write", sheet, *arguments)

    def code(self, result):
        last = result.out.splitlines()[-1]
        match = CODE.search(last)
        self.assertTrue(last.startswith("to write this: asleft ") and match, f"\n{result}")
        return match.group(1)

    def writes(self):
        """[(address, words)] of every write that the drive carried out."""
        with open(self.log, encoding="utf-8") as stream:
            rows = [line.split(",") for line in stream.read().splitlines()[1:]]
        return [(int(row[2], 0), row[3]) for row in rows]

    def history(self):
        return asleft("history", "W-1", "--store", self.store, "--format", "json").json()

    def edited(self, *changes, name="edited.yaml"):
        """A copy of the sheet with texts exchanged."""
        text = text_of(SHEET).replace("map: writable.yaml", f"map: {MAP}")
        for old, new in changes:
            self.assertIn(old, text)
            text = text.replace(old, new)
        return self.write(name, text)


class Pages(WriteCase):
    """The whole text of a list that is shown, refused, written, and of the history of it."""

    def test_pages(self):
        with self.drive(*WRONG, "start_source=keypad") as sim:
            shown = self.preview(sim.port)
            golden.check(self, "write-shown.txt", shown)
            golden.check(self, "write-wrong-code.txt", self.preview(sim.port, "--confirm", "0000-0000"))
            golden.check(self, "write-kept.txt", self.preview(sim.port, "--confirm", self.code(shown)))
            golden.check(self, "write-nothing.txt", self.preview(sim.port))
            sim.key("trip")
            sim.lines.wait_for("trip")
            golden.check(self, "restore-refused.txt", self.run_on(sim.port, "restore", SHEET, "before-write"))
            golden.check(self, "history.txt", asleft("history", "W-1", "--store", self.store))

    def test_a_page_for_a_browser(self):
        with self.drive(*WRONG) as sim:
            page = self.preview(sim.port, "--format", "html").out
            self.balanced(page)
            self.assertIn("to write this: asleft write", page)


class Shown(WriteCase):
    def test_nothing_to_change(self):
        with self.drive() as sim:
            result = self.preview(sim.port)
        self.status(0, result)
        self.quiet(result)
        self.assertNotIn("--confirm", result.out, result)
        self.assertEqual([], self.writes())

    def test_each_change_and_the_command_last(self):
        with self.drive(*WRONG) as sim:
            result = self.preview(sim.port)
        self.status(program.DIFFERS, result)
        self.quiet(result)
        self.code(result)
        for words in (r"motor_current\s+6\.00 A\s+3\.00 A", r"motor_speed\s+1800 rpm\s+1745 rpm", "energy_saver",
                      "nameplate current in the 460 V column", "A stopped drive is not isolated"):
            self.assertRegex(result.out, words, result)
        command = result.out.splitlines()[-1].removeprefix("to write this: ")
        self.assertEqual(["asleft", "write", SHEET, "--port", sim.port, "--store", self.store, "--confirm"],
                         shlex.split(command)[:-1])
        self.assertEqual([], self.writes())

    def test_json(self):
        with self.drive(*WRONG) as sim:
            result = self.preview(sim.port, "--format", "json")
        self.status(program.DIFFERS, result)
        record = result.json()
        self.assertEqual(("asleft/write/1", "write", False), tuple(record[k] for k in ("schema", "what", "performed")))
        self.assertEqual(["motor_current", "motor_speed", "energy_saver"], [c["parameter"] for c in record["changes"]])
        self.assertTrue(record["command"].endswith("--confirm " + record["code"]), record)

    def test_a_silent_drive_is_2(self):
        with self.drive() as sim:
            self.status(program.INCOMPLETE, self.preview(sim.port, "--unit", "9"))

    def test_no_contact_is_69(self):
        result = self.preview("1")
        self.status(program.CONTACT, result)
        self.assertNotIn("--confirm", result.out, result)

    def test_one_drive_at_a_time(self):
        self.refused(program.USE, "one drive at a time", asleft("write", SHEET, SHEET))
        self.refused(program.USE, "one drive at a time", asleft("restore", SHEET, "found", SHEET))
        self.refused(program.USE, "restore", asleft("restore", SHEET))

    def test_nothing_else_confirms(self):
        for option in ("--yes", "--force", "--confir", "--quiet"):
            with self.subTest(option):
                self.refused(program.USE, option, asleft("write", SHEET, option))
        with self.drive(*WRONG) as sim:
            env = program.environment(ASLEFT_CONFIRM="yes", ASLEFT_YES="1", CONFIRM="1")
            self.status(program.DIFFERS, self.run_on(sim.port, "write", SHEET, env=env))
        self.assertEqual([], self.writes())


class Confirmed(WriteCase):
    def test_the_shown_command_writes(self):
        with self.drive(*WRONG) as sim:
            self.status(program.DIFFERS, self.run_on(sim.port, "verify", SHEET))
            command = self.preview(sim.port).out.splitlines()[-1].removeprefix("to write this: ")
            result = asleft(*shlex.split(command)[1:])
            self.status(0, result)
            self.assertIn("kept", result.out.splitlines()[-1], result)
            self.status(0, self.run_on(sim.port, "verify", SHEET))
            back = shlex.split(re.search(r"PUT BACK WHAT WAS THERE\n(.*)", result.out).group(1))
            self.assertEqual(self.preview(sim.port).status, 0)
            self.assertRegex(asleft(*back[1:]).out, r"motor_current\s+3\.00 A\s+6\.00 A")
        # the three in the map's order, then the save command; nothing twice
        self.assertEqual([(0x10, "012c"), (0x11, "06d1"), (0x24, "0001"), (0x60, "0001")], self.writes())
        self.assertEqual(["before-write", "after-write"], [record["kind"] for record in self.history()["records"]])

    def test_a_code_is_read_as_people_type(self):
        for form in (str.lower, lambda code: code.replace("-", "")):
            with self.drive(*WRONG) as sim:
                code = self.code(self.preview(sim.port))
                self.status(0, self.preview(sim.port, "--confirm", form(code)))

    def test_a_wrong_code_writes_nothing(self):
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port))
            for wrong in ("0000-0000", "yes", code[:-1], code + "0", sim.port):
                with self.subTest(wrong):
                    result = self.preview(sim.port, "--confirm", wrong)
                    self.status(program.DIFFERS, result)
                    self.assertIn("not that of this list", re.sub(r"\s+", " ", result.out), result)
                    self.assertNotEqual(wrong, self.code(result))
        self.assertEqual([], self.writes())

    def test_the_code_of_another_drive(self):
        other = self.edited(("tag: W-1", "tag: W-2"), ("SN-A", "SN-B"))
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port))
            with Simulator(MAP, *[w for s in WRONG for w in ("--set", s)], sheet=other) as second:
                for port, sheet in ((second.port, other), (second.port, SHEET), (sim.port, other)):
                    with self.subTest(f"{port} {sheet}"):
                        self.status(program.DIFFERS, self.preview(port, "--confirm", code, sheet=sheet))
        self.assertEqual([], self.writes())

    def test_the_code_after_the_drive_has_changed(self):
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port))
            sim.key("set acceleration_time=9.5 s")
            sim.lines.wait_for("acceleration_time")
            self.status(program.DIFFERS, self.preview(sim.port, "--confirm", code))
        self.assertEqual([], self.writes())

    def test_the_code_after_the_sheet_has_changed(self):
        sheet = self.edited()
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port, sheet=sheet))
            self.edited(("acceleration_time: 10 s", "acceleration_time: 12 s"))
            self.status(program.DIFFERS, self.preview(sim.port, "--confirm", code, sheet=sheet))
        self.assertEqual([], self.writes())

    def test_the_code_once_more(self):
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port))
            self.status(0, self.preview(sim.port, "--confirm", code))
            done = self.writes()
            self.status(0, self.preview(sim.port, "--confirm", code))  # there is nothing left to change
        self.assertEqual(done, self.writes())

    def test_over_a_serial_line(self):
        link = os.path.join(self.folder, "line")
        line = ("--serial", link, "--baud", "19200", "--parity", "even", "--store", self.store)
        options = [word for setting in WRONG for word in ("--set", setting)]
        with Simulator(MAP, *options, "--pty", link, "--writes", self.log, sheet=SHEET):
            shown = asleft("write", SHEET, *line)
            command = shlex.split(shown.out.splitlines()[-1].removeprefix("to write this: "))
            self.assertEqual(["--serial", link, "--baud", "19200", "--parity", "even"], command[3:9])
            self.status(0, asleft(*command[1:]))
        self.assertEqual(4, len(self.writes()))

    def test_a_value_that_is_not_kept_ends_it(self):
        with self.drive(*WRONG, faults=["not-kept@2"]) as sim:
            code = self.code(self.preview(sim.port))
            result = self.preview(sim.port, "--confirm", code, "--format", "json")
            self.status(program.DIFFERS, result)
            outcomes = [change["outcome"] for change in result.json()["changes"]]
            self.assertEqual(["kept", "not-kept", "left-out"], outcomes, result)
            self.quiet(self.run_on(sim.port, "read", SHEET))  # it came to its end: nothing was interrupted

    def test_a_reply_that_does_not_come(self):
        def lose_the_second(pdu):
            self.seen = getattr(self, "seen", 0) + is_write(pdu)
            return not (is_write(pdu) and self.seen == 2)

        with self.drive(*WRONG) as sim, Tap(sim.port, lose_the_second) as tap:
            code = self.code(self.preview(tap.port))
            result = self.preview(tap.port, "--confirm", code, "--format", "json")
        self.status(program.DIFFERS, result)
        self.assertEqual(["kept", "not-written", "left-out"], [c["outcome"] for c in result.json()["changes"]], result)
        self.assertEqual([(0x10, "012c")], self.writes())  # and it was not sent again

    def test_a_line_that_is_cut(self):
        def cut_at_the_second(pdu):
            return CUT if is_write(pdu) and pdu[1:3] == b"\x00\x11" else True

        with self.drive(*WRONG) as sim, Tap(sim.port, cut_at_the_second) as tap:
            code = self.code(self.preview(tap.port))
            result = self.preview(tap.port, "--confirm", code, "--format", "json")
        self.status(program.INCOMPLETE, result)
        self.assertEqual(["kept", "unknown", "left-out"], [c["outcome"] for c in result.json()["changes"]], result)
        self.assertEqual([(0x10, "012c")], self.writes())

    def test_a_result_that_cannot_be_written_stops_before_the_drive(self):
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port))
            result = self.preview(sim.port, "--confirm", code, "--output", os.path.join(self.folder, "no", "result"))
            self.refused(program.OUTPUT, "cannot be written", result)
        self.assertEqual([], self.writes())


class Refused(WriteCase):
    def expect(self, words, port, *arguments, sheet=SHEET, command=("write",)):
        result = self.run_on(port, command[0], sheet, *command[1:], *arguments)
        self.status(program.DIFFERS, result)
        self.assertRegex(re.sub(r"\s+", " ", result.out), words, result)
        self.assertNotIn("--confirm", result.out, result)
        record = self.run_on(port, command[0], sheet, *command[1:], *arguments, "--format", "json").json()
        self.assertTrue(record["refusals"], record)
        self.assertIsNone(record["code"], record)
        self.assertIsNone(record["command"], record)
        self.assertEqual([], self.writes())

    def test_running(self):
        with self.drive(*WRONG) as sim:
            sim.key("start")
            sim.lines.wait_for("start")
            self.expect("running", sim.port)

    def test_sleeping(self):
        with self.drive(*WRONG) as sim:
            sim.key("state sleeping")
            sim.lines.wait_for("sleeping")
            self.expect("sleeping", sim.port)

    def test_tripped(self):
        with self.drive(*WRONG) as sim:
            sim.key("trip")
            sim.lines.wait_for("trip")
            self.expect("tripped", sim.port)

    def test_started_between_the_list_and_the_code(self):
        with self.drive(*WRONG) as sim:
            code = self.code(self.preview(sim.port))
            sim.key("start")
            sim.lines.wait_for("start")
            self.expect("running", sim.port, "--confirm", code)

    def test_what_could_start_the_shaft(self):
        with self.drive("start_source=keypad") as sim:
            self.code(self.preview(sim.port))  # both absent: offered
            sim.key("run-command on")
            sim.lines.wait_for("run")
            self.expect("start_source.*keypad, with enable open", sim.port)

    def test_another_model(self):
        with self.drive(*WRONG, "model_code=7") as sim:
            result = self.preview(sim.port)
            self.assertIn(result.status, (program.DIFFERS, program.INCOMPLETE), result)
            self.assertNotIn("--confirm", result.out, result)
        self.assertEqual([], self.writes())

    def test_another_serial_number(self):
        with self.drive(*WRONG, "serial_number=SN-B") as sim:
            self.expect("SN-B", sim.port)

    def test_an_implausible_sheet(self):
        sheet = self.edited(("rated_speed: 1745 rpm", "rated_speed: 1850 rpm"))
        with self.drive(*WRONG) as sim:
            self.expect("sheet", sim.port, sheet=sheet)

    def test_outside_what_the_drive_accepts(self):
        sheet = self.edited(("6.0/3.0 A", "24.0/12.0 A"), ("2 hp", "10 hp"))
        with self.drive() as sim:
            self.expect(r"motor_current.*9\.90? A", sim.port, sheet=sheet)

    def test_the_line_itself(self):
        sheet = self.edited(("energy_saver: 1", "energy_saver: 1\n  serial_speed: 4"))
        with self.drive() as sim:
            self.expect("serial_speed", sim.port, sheet=sheet)

    def test_unit_0(self):
        with self.drive(*WRONG) as sim:
            result = self.preview(sim.port, "--unit", "0")
            self.assertNotEqual(0, result.status, result)
            self.assertNotIn("--confirm", result.out, result)
        self.assertEqual([], self.writes())

    def test_one_refusal_refuses_all(self):
        with self.drive(*WRONG, "start_source=keypad") as sim:
            sim.key("run-command on")
            sim.lines.wait_for("run")
            self.expect("start_source", sim.port)


class Terminal(WriteCase):
    """A person at a terminal is asked for the drive's tag; a pipe never is."""

    def at_terminal(self, port, typed, *options):
        """Runs write with all three streams on a terminal, and types once it is asked."""
        ours, theirs = pty.openpty()
        settings = termios.tcgetattr(theirs)
        settings[3] &= ~termios.ECHO
        termios.tcsetattr(theirs, termios.TCSANOW, settings)
        command = [program.ASLEFT, "write", SHEET, "--port", port, "--store", self.store, "--color", "never", *options]
        with subprocess.Popen(command, env=program.environment(TERM="dumb"), stdin=theirs, stdout=theirs, stderr=theirs,
                              start_new_session=True) as run:
            os.close(theirs)
            said, answered = b"", False
            while True:
                ready, _, _ = select.select([ours], [], [], program.PATIENCE_S)
                self.assertTrue(ready, said)
                try:
                    more = os.read(ours, 65536)
                except OSError:  # the other side is closed
                    break
                if not more:
                    break
                said += more
                if not answered and b"type the drive's tag" in said and said.endswith(b": "):
                    answered = True
                    keys = typed(run) if callable(typed) else typed
                    if keys:
                        os.write(ours, keys)
            status = run.wait(timeout=program.PATIENCE_S)
        os.close(ours)
        return program.Result(command, status, said.replace(b"\r\n", b"\n"), b""), answered

    def test_the_tag_writes(self):
        with self.drive(*WRONG) as sim:
            result, asked = self.at_terminal(sim.port, b"W-1\n")
            self.assertTrue(asked, result)
            self.status(0, result)
            self.status(0, self.run_on(sim.port, "verify", SHEET))
        self.assertEqual(4, len(self.writes()))

    def test_anything_else_leaves_it(self):
        for typed in (b"\n", b"y\n", b"yes\n", b"w-1\n", b"W-1 \n", b" W-1\n", b"W-11\n", b"\x04", b"W-1\x04\x04"):
            with self.subTest(typed), self.drive(*WRONG) as sim:
                result, asked = self.at_terminal(sim.port, typed)
                self.assertTrue(asked, result)
                self.status(program.DIFFERS, result)
                self.assertIn("nothing was written", result.out, result)
                self.assertEqual([], self.writes())

    def test_a_drive_that_changed_while_somebody_thought(self):
        with self.drive(*WRONG) as sim:
            def change_then_confirm(_):
                sim.key("set acceleration_time=9.5 s")
                sim.lines.wait_for("acceleration_time")
                return b"W-1\n"

            result, asked = self.at_terminal(sim.port, change_then_confirm)
        self.assertTrue(asked, result)
        self.status(program.DIFFERS, result)
        self.assertIn("not that of this list", re.sub(r"\s+", " ", result.out), result)
        self.assertEqual([], self.writes())

    def test_interrupted_at_the_question(self):
        with self.drive(*WRONG) as sim:
            result, asked = self.at_terminal(sim.port, lambda run: run.send_signal(signal.SIGINT))  # types nothing
        self.assertTrue(asked, result)
        self.status(-signal.SIGINT, result)
        self.assertEqual([], self.writes())

    def test_the_line_is_held_meanwhile(self):
        with self.drive(*WRONG) as sim:
            def second(run):
                self.second = self.preview(sim.port)
                run.send_signal(signal.SIGINT)

            self.at_terminal(sim.port, second)
        self.refused(program.BUSY, "W-1", self.second)

    def test_nobody_is_asked_where_nothing_is_to_be_changed(self):
        with self.drive() as sim:
            result, asked = self.at_terminal(sim.port, b"W-1\n")
        self.assertFalse(asked, result)
        self.status(0, result)

    def test_nobody_is_asked_with_a_code_or_for_other_results(self):
        with self.drive(*WRONG) as sim:
            for options in (("--confirm", "0000-0000"), ("--format", "json"), ("--output", os.path.join(self.folder, "o"))):
                with self.subTest(options):
                    result, asked = self.at_terminal(sim.port, b"W-1\n", *options)
                    self.assertFalse(asked, result)
                    self.status(program.DIFFERS, result)
        self.assertEqual([], self.writes())

    def test_a_pipe_is_never_asked(self):
        with self.drive(*WRONG) as sim:
            command = [program.ASLEFT, "write", SHEET, "--port", sim.port, "--store", self.store]
            run = subprocess.run(command, env=program.environment(), input=b"W-1\n", capture_output=True,
                                 timeout=program.PATIENCE_S)
        self.assertEqual(program.DIFFERS, run.returncode)
        self.assertEqual(b"", run.stderr)
        self.assertEqual([], self.writes())


class Interrupted(WriteCase):
    def write_until(self, sim, which, act):
        """Confirms the list through a tap that calls act(process) when write number `which` comes, before the drive gets
        it; where that returns False the drive never does."""
        state = {"count": 0}

        def on_request(pdu):
            if not is_write(pdu):
                return True
            state["count"] += 1
            if state["count"] != which:
                return True
            return act(state["process"])

        with Tap(sim.port, on_request) as tap:
            code = self.code(self.preview(tap.port))
            state["count"] = 0
            command = [program.ASLEFT, "write", SHEET, "--port", tap.port, "--store", self.store, "--confirm", code]
            with subprocess.Popen(command, env=program.environment(), stdout=subprocess.PIPE,
                                  stderr=subprocess.PIPE) as process:
                state["process"] = process
                out, err = process.communicate(timeout=program.PATIENCE_S)
        return program.Result(command, process.returncode, out, err)

    def kill_at(self, sim, which, delivered):
        def kill(process):
            process.kill()
            process.wait()
            return delivered

        return self.write_until(sim, which, kill)

    def test_killed_at_each_write(self):
        for which in (1, 2, 3, 4):
            for delivered in (False, True):
                with self.subTest(f"write {which}, delivered {delivered}"), self.drive(*WRONG) as sim:
                    self.store = os.path.join(self.folder, f"{which}{delivered}.sqlite")
                    self.status(-signal.SIGKILL, self.kill_at(sim, which, delivered))
                    wait_until_saved(sim.port, 4, 0x60)
                    self.tells_and_restores(sim, which)

    def tells_and_restores(self, sim, which):
        parameters = ("motor_current", "motor_speed", "energy_saver")
        for command in ("verify", "read"):
            told = self.run_on(sim.port, command, SHEET)
            self.assertIn("note: ", told.err, told)
            for parameter in parameters:
                self.assertIn(parameter, told.err, told)
            self.assertIn("restore", told.err, told)
        self.assertTrue(self.history()["interrupted"])
        command = shlex.split(re.search(r"To put back what was there: (.*)", told.err).group(1))
        shown = asleft(*command[1:])  # as it stands there, with line and store
        self.assertIn("note: ", shown.err, shown)
        if shown.status == program.DIFFERS:
            self.status(0, asleft(*shlex.split(shown.out.splitlines()[-1].removeprefix("to write this: "))[1:]))
        else:
            self.status(0, shown)
            self.assertEqual(1, which, shown)
        after = self.run_on(sim.port, "verify", SHEET)
        self.status(program.DIFFERS, after)
        self.quiet(after)
        found = {f["parameter"]: f["found"] for f in self.run_on(sim.port, "verify", SHEET, "--format", "json").json()["findings"]}
        self.assertEqual((6.0, 1800, 0), tuple(found[parameter] for parameter in parameters))

    def test_a_signal_lets_the_write_under_way_end(self):
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            def stop(process, number=number):
                process.send_signal(number)
                return True

            with self.subTest(number), self.drive(*WRONG) as sim:
                self.store = os.path.join(self.folder, f"{number}.sqlite")
                result = self.write_until(sim, 2, stop)
                self.status(-number, result)
                self.assertRegex(result.out, r"motor_current[\s\S]*kept[\s\S]*motor_speed[\s\S]*kept", result)
                self.assertIn("1 ", result.out.splitlines()[-1], result)
                self.assertEqual([(0x10, "012c"), (0x11, "06d1")], self.writes())
                self.quiet(self.run_on(sim.port, "read", SHEET))  # it has told everything itself

    def test_writing_once_more_settles_it(self):
        with self.drive(*WRONG) as sim:
            self.kill_at(sim, 2, False)
            result = self.preview(sim.port)
            self.status(0, self.preview(sim.port, "--confirm", self.code(result)))
            self.quiet(self.run_on(sim.port, "verify", SHEET))

    def test_another_drives_interruption_is_not_ours(self):
        other = self.edited(("tag: W-1", "tag: W-2"))
        with self.drive(*WRONG) as sim:
            self.kill_at(sim, 2, False)
            self.quiet(self.run_on(sim.port, "read", other))

    def test_a_missing_save_stays_noted(self):
        with self.drive(*WRONG) as sim:
            self.kill_at(sim, 4, False)  # all is written, and the save never came
            result = self.preview(sim.port)
            self.status(0, result)
            told = self.run_on(sim.port, "verify", SHEET)
            self.status(0, told)
            self.assertIn("note: ", told.err, told)


class Restored(WriteCase):
    def recorded(self, sim, kind="left", *options):
        result = self.run_on(sim.port, "record", SHEET, "--as", kind, "--format", "json", *options)
        self.status(0, result)
        return result.json()["record"]

    def change(self, sim):
        for setting in ("motor_current=5.0 A", "energy_saver=0"):
            sim.key(f"set {setting}")
            sim.lines.wait_for(setting.split("=")[0])

    def restore(self, sim, *arguments):
        shown = self.run_on(sim.port, "restore", SHEET, *arguments)
        self.status(program.DIFFERS, shown)
        command = shlex.split(shown.out.splitlines()[-1].removeprefix("to write this: "))
        self.assertEqual(["asleft", "restore", SHEET, arguments[0]], command[:4], shown)
        result = asleft(*command[1:])
        self.status(0, result)

    def test_by_kind_by_id_and_from_a_file(self):
        copy = os.path.join(self.folder, "copy.yaml")
        for name in ("left", "id", copy):
            with self.subTest(name), self.drive() as sim:
                record = self.recorded(sim, "left", "--export", copy)
                self.change(sim)
                self.restore(sim, record[:8] if name == "id" else name)
                self.status(0, self.run_on(sim.port, "verify", SHEET))
                self.assertEqual([0x10, 0x24, 0x60], [address for address, _ in self.writes()])

    def test_nothing_to_restore(self):
        with self.drive() as sim:
            self.recorded(sim)
            self.status(0, self.run_on(sim.port, "restore", SHEET, "left"))

    def test_no_such_record(self):
        with self.drive() as sim:
            self.recorded(sim)
            for name in ("found", "0123456789", "1234", "nowhere"):
                with self.subTest(name):
                    self.status(program.USE, self.run_on(sim.port, "restore", SHEET, name))
            self.status(program.FILE, self.run_on(sim.port, "restore", SHEET, "./missing.yaml"))
            self.status(program.FILE, self.run_on(sim.port, "restore", SHEET, SHEET))

    def test_an_exchanged_drive(self):
        sheet = self.edited((", serial_number: SN-A", ""))
        with self.drive() as sim:
            self.status(0, self.run_on(sim.port, "record", sheet, "--as", "left"))
            sim.key("exchange SN-B")
            sim.lines.wait_for("SN-B")
            refused = self.run_on(sim.port, "restore", sheet, "left")
            self.status(program.DIFFERS, refused)
            self.assertIn("SN-B", refused.out, refused)
            self.assertNotIn("--confirm", refused.out, refused)
            wrong = self.run_on(sim.port, "restore", sheet, "left", "--replacement", "SN-C")
            self.assertNotIn("--confirm", wrong.out, wrong)
            shown = self.run_on(sim.port, "restore", sheet, "left", "--replacement", "SN-B")
            command = shlex.split(shown.out.splitlines()[-1].removeprefix("to write this: "))
            self.assertIn("--replacement", command, shown)
            self.status(0, asleft(*command[1:]))
            self.status(0, self.run_on(sim.port, "verify", sheet))


if __name__ == "__main__":
    unittest.main()
