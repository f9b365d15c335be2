"""Text formats described as data: the description, its file, and the decoder made from it.

Pure but for :mod:`drivers.described.file`, which reads and writes files.
"""
