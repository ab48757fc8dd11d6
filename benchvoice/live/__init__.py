"""The live loop's own parts: keys, microphone and loudspeaker that come and go, the large display. Edge."""
