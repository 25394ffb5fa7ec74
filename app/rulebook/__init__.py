"""Dated rulebooks as data: schema, loader, editions, named switches."""
