"""A power cut, simulated: what a program asked of the disk is recorded, and built up to where the cut comes.

:mod:`.recorded` has the work run under ``strace``, which sees every write, sync and name, those of SQLite
and of SQLCipher too. :mod:`.disk` builds the states, :mod:`.cuts` looks at each as after a kill. What is
simulated is a disk that keeps what it was told to keep: one that lies about a sync is not.
"""
