"""A local chat room: the public Bot API over HTTP, people to play, and a clock that can be moved.

It imports nothing from the program it hosts: the two meet over HTTP only, as they would in production.
"""
