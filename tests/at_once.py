"""Calls that start together, each in its own thread with its own connection."""

import threading

from django.db import connection


def at_once(*calls):
    """Run the calls in threads that start together; return what each answered or raised."""
    start = threading.Barrier(len(calls))
    answers = [None] * len(calls)

    def run(place, call):
        start.wait()
        try:
            answers[place] = call()
        except Exception as error:
            answers[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    return answers
