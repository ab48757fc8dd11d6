"""Ears: what turns a microphone, a recording or a keyboard into words. Edge."""
