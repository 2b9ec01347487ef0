"""The hospital's own sign-on, by OpenID Connect: who is known there may enter here, by a linked account."""
