"""Reports over HTTP: for apps with a token, and for people who follow the link of their mail."""
