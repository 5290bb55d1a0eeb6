package command

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"clutchd/daemon"
	"clutchd/daemon/web"
)

// shortest is the length below which a password is refused.
const shortest = 8

// Password sets the pages' password: typed twice, or one line on a pipe. Only
// its hash is kept, in the state folder.
func Password(c Call) error {
	var file string
	err := c.Bare("password [-config FILE]", func(s *flag.FlagSet) {
		s.StringVar(&file, "config", "", "config `FILE`")
	})
	if err != nil {
		return err
	}
	cfg, err := loadConfig(file)
	if err != nil {
		return err
	}
	folder, err := cfg.Folder()
	if err != nil {
		return err
	}
	password, err := askPassword(c)
	if err != nil {
		return err
	}
	if n := utf8.RuneCountInString(password); n < shortest {
		return hint(fmt.Errorf("a password of %d characters is too short", n),
			fmt.Sprintf("use at least %d", shortest))
	}
	hash, err := web.HashPassword(password)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return fmt.Errorf("make the state folder: %w", err)
	}
	path := filepath.Join(folder, daemon.PasswordFile)
	if err := daemon.ReplaceFile(path, []byte(hash+"\n")); err != nil {
		return fmt.Errorf("write the password: %w", err)
	}
	fmt.Fprintln(c.Stdout, "the password is set; a daemon that runs takes it when it starts again,\nand with it every session has ended; tokens and links stay until they are revoked")
	return nil
}

func askPassword(c Call) (string, error) {
	if c.Stdin == nil || !term.IsTerminal(int(c.Stdin.Fd())) {
		var in io.Reader = strings.NewReader("")
		if c.Stdin != nil {
			in = c.Stdin
		}
		line, err := bufio.NewReader(in).ReadString('\n')
		if err != nil && line == "" {
			return "", hint(fmt.Errorf("read the password: %w", err),
				"type it, or give it as one line on a pipe")
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	var typed [2]string
	for i, prompt := range []string{"password: ", "once more: "} {
		fmt.Fprint(c.Stderr, prompt)
		text, err := term.ReadPassword(int(c.Stdin.Fd()))
		fmt.Fprintln(c.Stderr)
		if err != nil {
			return "", fmt.Errorf("read the password: %w", err)
		}
		typed[i] = string(text)
	}
	if typed[0] != typed[1] {
		return "", hint(fmt.Errorf("the two passwords are not the same"), "try again")
	}
	return typed[0], nil
}
