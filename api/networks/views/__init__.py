"""Views of networks: members, sign-in and consent."""
