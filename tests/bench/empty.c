/* SPDX-License-Identifier: MIT */
/* Does nothing; linked with the libraries that asleft is linked with, it shows what starting a program costs here. */
int main(void)
{
    return 0;
}
